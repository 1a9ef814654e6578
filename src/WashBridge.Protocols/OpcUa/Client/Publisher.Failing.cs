using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>Publish requests that are refused, and messages of subscriptions that nobody here knows.</summary>
internal sealed partial class Publisher
{
    private const int MaxStrangers = 32;
    private static readonly TimeSpan StrangerTime = TimeSpan.FromSeconds(10);
    private readonly List<ServiceResponse<PublishResponse>> strangers = [];

    /// <summary>
    /// A subscription has been silent for too long. Requests that have waited as long may never have arrived: they are replaced. If nothing at all comes even
    /// then, the session is given up.
    /// </summary>
    public void TakeSilence(TimeSpan silence)
    {
        lock (gate)
        {
            foreach (var slot in slots.Where(s => !s.IsWrittenOff && !s.IsDone && time.GetElapsedTime(s.Sent) >= silence))
            {
                slot.IsWrittenOff = true;
                writtenOff++;
            }
        }

        if (++silences >= 2)
        {
            session.GiveUp(new UaException(StatusCodes.BadTimeout, "the server does not answer publish requests any more, though it answers others"));
        }
    }

    private void TakeFailure(Slot slot, Exception failure)
    {
        if (failure is not UaServiceException refusal)
        {
            return; // the session's end is noticed elsewhere
        }

        ClientLog.PublishRefused(logger, options.Endpoint, refusal.Message);
        if (refusal.Status == StatusCodes.BadTooManyPublishRequests)
        {
            lock (gate)
            {
                cap = Math.Max(1, Math.Min(cap - 1, slots.Count));
            }

            ClientLog.FewerPublishRequests(logger, options.Endpoint, cap);
            return;
        }

        if (refusal.Status == StatusCodes.BadNoSubscription)
        {
            LoseAll(slot.Registrations);
        }

        // A request whose time is out is simply replaced; whatever else repeats itself must not become a storm.
        if (++refusals > 3)
        {
            lock (gate)
            {
                pausedUntil = time.GetTimestamp() + (long)(RefusedPause.TotalSeconds * time.TimestampFrequency);
            }

            _ = WakeAfterPauseAsync();
        }
    }

    private async Task WakeAfterPauseAsync()
    {
        try
        {
            await Task.Delay(RefusedPause, time, stop);
            completions.Writer.TryWrite(null);
        }
        catch (OperationCanceledException)
        {
            // Nobody waits for it any more.
        }
    }

    /// <summary>The server knows no subscription of this session. Those that came after the request was sent are not meant.</summary>
    private void LoseAll(int registeredBefore)
    {
        UaSubscription[] gone;
        lock (gate)
        {
            gone = [.. subscriptions.Values.Where(s => s.RegisteredAs <= registeredBefore)];
        }

        foreach (var subscription in gone)
        {
            subscription.ReportLost("the server knows no subscription of this session (BadNoSubscription)");
        }
    }

    /// <summary>The first message may come before the answer that tells the subscription's id; or it is left over from an earlier one.</summary>
    /// <returns>The id of one that is left over; else 0.</returns>
    private uint KeepStrangerLocked(in ServiceResponse<PublishResponse> response)
    {
        strangers.Add(response);
        if (strangers.Count <= MaxStrangers && time.GetElapsedTime(strangers[0].Received) <= StrangerTime)
        {
            return 0;
        }

        var leftOver = strangers[0].Body.SubscriptionId;
        strangers.RemoveAll(s => s.Body.SubscriptionId == leftOver);
        return leftOver;
    }

    private async Task DeleteQuietlyAsync(uint id)
    {
        try
        {
            await session.DeleteSubscriptionsAsync([id], stop);
        }
        catch (Exception e) when (e is UaException or OperationCanceledException)
        {
            // Its lifetime ends it.
        }
    }
}
