using System.Runtime.CompilerServices;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>Messages in the order of their numbers; what is missing is asked for again (OPC 10000-4, 5.14.1.1 and 5.14.6).</summary>
public sealed partial class UaSubscription
{
    /// <summary>A gap larger than this is not asked for message by message.</summary>
    private const long MaxRepublished = 1_000;

    /// <summary>Then a server that lives but never answers is taken not to have the message.</summary>
    private const int MaxUnanswered = 2;

    /// <summary>When the publish request of a message was sent that was asked for again.</summary>
    private const long NotKnown = 0;

    /// <summary>Messages that came while one before them was missing, in order.</summary>
    private readonly List<ServiceResponse<PublishResponse>> ahead = [];

    /// <summary>Numbers of messages that were asked for again or given up: they may still come as usual.</summary>
    private readonly HashSet<uint> outOfTurn = [];

    private int unanswered;

    /// <summary>Messages in a row whose numbers were asked for again or given up before.</summary>
    private int late;

    private uint next = 1;
    private bool hasGap = true;
    private bool needsReadAnew;
    private long lossesSinceInterruption;
    private long lastHeard;
    private int isClockWaiting;
    private Boxed<ClockOffset>? latestClock;

    private ValueTask TakeMessageAsync(in ServiceResponse<PublishResponse> message)
    {
        var body = message.Body;
        if (body.SubscriptionId != id || !isCreated)
        {
            return default; // of one that was given up
        }

        if (ahead.Count == 0 && body.Message.SequenceNumber == next)
        {
            return Deliver(body.Message, message.Sent, message.Received, NotificationOrigin.Published, body.MoreNotifications) is { } end
                ? new ValueTask(RecreateAsync(end))
                : default;
        }

        return new ValueTask(TakeOutOfOrderAsync(message));
    }

    private async Task TakeOutOfOrderAsync(ServiceResponse<PublishResponse> message)
    {
        var number = message.Body.Message.SequenceNumber;
        if (ahead.Exists(m => m.Body.Message.SequenceNumber == number && !m.Body.Message.IsKeepAlive) || (outOfTurn.Contains(number) && ++late <= MaxLate()))
        {
            return; // it was asked for again and comes twice, or comes after it was given up
        }

        if (SequenceNumber.Distance(next, number) < 0)
        {
            Renumber(number);
        }

        ahead.Add(message);
        ahead.Sort((a, b) => SequenceNumber.Distance(next, a.Body.Message.SequenceNumber).CompareTo(SequenceNumber.Distance(next, b.Body.Message.SequenceNumber)));
        await DeliverAheadAsync();
    }

    /// <summary>No more than this can have been on their way: beyond it the server is still there, and the number that went ahead was a mistake.</summary>
    private int MaxLate() => MaxBacklog + (publisher?.Outstanding ?? 0);

    /// <summary>Asks for what is missing before each message that came early, then delivers it.</summary>
    private async Task DeliverAheadAsync()
    {
        while (ahead.Count > 0)
        {
            var message = ahead[0];
            await FillGapAsync(message.Body.Message.SequenceNumber);
            ahead.RemoveAt(0);
            if (message.Body.Message.SequenceNumber == next
                && Deliver(message.Body.Message, message.Sent, message.Received, NotificationOrigin.Published, message.Body.MoreNotifications) is { } end)
            {
                await RecreateAsync(end);
                return;
            }
        }
    }

    /// <exception cref="UaException">The session ended in between; nothing is given up.</exception>
    private async Task FillGapAsync(uint until)
    {
        var missing = SequenceNumber.Distance(next, until);
        if (missing > MaxRepublished)
        {
            Lose(missing, until, $"more than {MaxRepublished} at once");
        }

        while (SequenceNumber.Distance(next, until) > 0)
        {
            if (!await RepublishNextAsync())
            {
                Lose(1, SequenceNumber.After(next), "the server does not have them any more (BadMessageNotAvailable)");
            }
        }
    }

    /// <returns>False: the server does not have it (any more).</returns>
    /// <exception cref="UaException">The session or the subscription ended.</exception>
    private async Task<bool> RepublishNextAsync()
    {
        ServiceResponse<RepublishResponse> answer;
        try
        {
            answer = await Session().RepublishAsync(id, next, ending.Token);
        }
        catch (UaServiceException e) when (e.Status == StatusCodes.BadSubscriptionIdInvalid)
        {
            ReportLost(e.Message);
            throw;
        }
        catch (UaServiceException e) when (!SessionLoss.IsMeantBy(e.Status))
        {
            return false;
        }
        catch (UaException e) when (e.Status == StatusCodes.BadTimeout && !Session().IsLost && ++unanswered >= MaxUnanswered)
        {
            unanswered = 0;
            return false;
        }

        unanswered = 0;

        if (answer.Body.Message.SequenceNumber != next)
        {
            return false;
        }

        NoteOutOfTurn(next);
        ClientLog.Republished(logger, next, spec.Name, options.Endpoint);
        counters.AddRepublished();
        if (Deliver(answer.Body.Message, NotKnown, answer.Received, NotificationOrigin.Republished, false) is { } end)
        {
            ReportLost(end);
        }

        return true;
    }

    /// <summary>Against the rules, but it must not silence the subscription for ever.</summary>
    private void Renumber(uint number)
    {
        ClientLog.MessagesLost(logger, 0, next, spec.Name, options.Endpoint, $"the server numbers its messages anew from {number}");
        (next, hasGap, needsReadAnew) = (number, true, true);
        lossesSinceInterruption++;
        outOfTurn.Clear();
    }

    private void NoteOutOfTurn(uint number)
    {
        if (outOfTurn.Count >= MaxRepublished)
        {
            outOfTurn.Clear();
        }

        outOfTurn.Add(number);
    }

    private void Lose(long count, uint nextNow, string reason)
    {
        ClientLog.MessagesLost(logger, (uint)count, next, spec.Name, options.Endpoint, reason);
        counters.AddLost(count);
        lossesSinceInterruption += count;
        NoteOutOfTurn(next);
        (next, hasGap, needsReadAnew) = (nextNow, true, true);
    }

    /// <param name="sent">When its publish request was sent.</param>
    /// <returns>Why the subscription has ended, if the message says so.</returns>
    private string? Deliver(NotificationMessage message, long sent, long received, NotificationOrigin origin, bool moreFollows)
    {
        if (message.IsKeepAlive)
        {
            Tell(static (listener, heard) => listener.OnKeepAlive(heard.PublishTime, heard.sent, heard.received), (message.PublishTime, sent, received));
            return null;
        }

        (next, late) = (SequenceNumber.After(message.SequenceNumber), 0);
        string? end = null;
        foreach (var notification in message.Notifications)
        {
            switch (notification)
            {
                case DataChangeNotification change:
                    DeliverValues(new PublishedNotification(change.Items, message.SequenceNumber, message.PublishTime, sent, received, !hasGap, origin, moreFollows));
                    hasGap = false;
                    break;
                case StatusChangeNotification { Status.IsBad: true } or StatusChangeNotification { Status.Value: 0x002D_0000 }:
                    end = $"the server ended it: {((StatusChangeNotification)notification).Status}";
                    break;
            }
        }

        return end;
    }

    private void DeliverValues(in PublishedNotification notification)
    {
        var overflown = 0;
        var vanishing = vanished > 0;
        foreach (var value in Elements(notification.Values))
        {
            overflown += value.Value.Status.HasOverflow ? 1 : 0;
            vanishing |= value.Value.Status.Code == StatusCodes.BadNodeIdUnknown;
        }

        counters.AddMessage(notification.Values.Count, overflown);
        Tell(static (listener, n) => listener.OnNotification(n), notification);
        if (vanishing)
        {
            NoteVanished(notification.Values);
        }
    }

    /// <summary>What is decoded is an array: going through it costs no call for each element.</summary>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private static ReadOnlySpan<MonitoredItemNotification> Elements(IReadOnlyList<MonitoredItemNotification> values) =>
        values is MonitoredItemNotification[] array ? array : [.. values];

    /// <summary>The full picture after a loss (OPC 10000-4, 6.7), once what has already come is told.</summary>
    private async Task ReadAnewAsync()
    {
        var watched = items.Where(i => i.Status.IsGood && i.ServerId != 0).ToArray();
        ReadValueId[] nodes = [.. watched.Select(i => i.ToReadValueId())];
        var result = await Session().ReadAsync(nodes, cancellation: ending.Token);
        needsReadAnew = false;
        var values = new MonitoredItemNotification[watched.Length];
        for (var i = 0; i < values.Length; i++)
        {
            values[i] = new MonitoredItemNotification(watched[i].Spec.ClientHandle, result.Values[i]);
        }

        DeliverValues(new PublishedNotification(values, 0, result.ServerTime, result.Sent, result.Received, Continuous: false, NotificationOrigin.ReadAnew));
    }
}
