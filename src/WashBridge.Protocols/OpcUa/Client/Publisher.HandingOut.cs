using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>From answers to subscriptions.</summary>
internal sealed partial class Publisher
{
    /// <summary>Hands out what has come, in the order of the requests.</summary>
    private async Task ProcessAsync(ITimer grace)
    {
        while (Next(grace) is { } slot)
        {
            if (slot.Failure is { } failure)
            {
                TakeFailure(slot, failure);
                continue;
            }

            (refusals, silences) = (0, 0);
            await HandOutAsync(slot.Response);
        }
    }

    private Slot? Next(ITimer grace)
    {
        lock (gate)
        {
            var at = slots.FindIndex(static s => s.IsDone);
            if (at < 0)
            {
                return null;
            }

            if (at > 0)
            {
                // The answers before it are on their way to us, or will never come.
                var now = time.GetTimestamp();
                var overtaken = slots[0].OvertakenAt ??= now;
                var left = Grace - time.GetElapsedTime(overtaken, now);
                if (left > TimeSpan.Zero)
                {
                    grace.Change(left, Timeout.InfiniteTimeSpan);
                    return null;
                }
            }

            var slot = slots[at];
            slots.RemoveAt(at);
            writtenOff -= slot.IsWrittenOff ? 1 : 0;
            return slot;
        }
    }

    private async ValueTask HandOutAsync(ServiceResponse<PublishResponse> response)
    {
        var body = response.Body;
        UaSubscription? subscription;
        uint leftOver = 0;
        lock (gate)
        {
            if (!subscriptions.TryGetValue(body.SubscriptionId, out subscription))
            {
                leftOver = KeepStrangerLocked(response);
            }
            else if (!body.Message.IsKeepAlive)
            {
                acknowledgements.Add(new SubscriptionAcknowledgement(body.SubscriptionId, body.Message.SequenceNumber));
            }
        }

        if (leftOver != 0)
        {
            ClientLog.UnknownSubscription(logger, leftOver, options.Endpoint);
            _ = DeleteQuietlyAsync(leftOver);
        }

        subscription?.Accept(response);
        if (subscription is { IsBacklogged: true })
        {
            // Others may wait meanwhile for the requests that this one's messages use up: nothing can be done about that.
            await subscription.WaitForRoomAsync(stop);
        }
    }
}
