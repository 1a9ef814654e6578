using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>States of a subscription that exists (OPC 10000-4, 5.14.1.2).</summary>
internal enum SubscriptionState
{
    Normal,

    /// <summary>There is something to send, and no publish request to send it with.</summary>
    Late,

    /// <summary>Nothing has changed for a while.</summary>
    KeepAlive,
}

/// <summary>
/// A subscription as the state table of OPC 10000-4, 5.14.1.2 describes it; the numbers in comments are the table's rows. Everything here
/// happens under the lock of <see cref="SubscriptionManager"/>.
/// </summary>
internal sealed partial class Subscription(uint id, Session session, SubscriptionSettings settings, UaServerLimits limits, TimeProvider time)
{
    private readonly RetransmissionQueue sent = new(limits.MaxRetransmissionMessages, limits.MaxQueuedValuesPerSubscription);
    private uint lifetimeCounter = settings.LifetimeCount;
    private uint keepAliveCounter = settings.KeepAliveCount;
    private uint nextSequenceNumber = 1;
    private DateTime publishTime;
    private bool messageSent;
    private bool moreNotifications;
    private SubscriptionOwner? lastOwner;

    public uint Id => id;

    public SubscriptionSettings Settings { get; private set; } = settings;

    public SubscriptionState State { get; private set; } = SubscriptionState.Normal;

    public required bool IsPublishing { get; set; }

    /// <summary>Null: its session has ended, and nobody has taken it over yet.</summary>
    public Session? Session { get; private set; } = session;

    /// <summary>Whoever has its session, or had it last.</summary>
    public SubscriptionOwner Owner => Session is { } current ? SubscriptionOwner.Of(current) : lastOwner!;

    /// <summary>Set once, when the manager has made it.</summary>
    public ITimer? Timer { get; set; }

    /// <summary>When it last became ready for a publish request: among equals, who waited longest is served first.</summary>
    public long WaitingSince { get; private set; }

    /// <summary>Rows 5, 10, 11: a publish request that arrives now is used at once.</summary>
    public bool WantsPublish => State == SubscriptionState.Late || (State == SubscriptionState.Normal && IsPublishing && moreNotifications);

    public void ResetLifetime() => lifetimeCounter = Settings.LifetimeCount;

    /// <summary>Row 18.</summary>
    public void Modify(SubscriptionSettings next)
    {
        Settings = next;
        keepAliveCounter = Math.Min(keepAliveCounter, next.KeepAliveCount);
        ResetLifetime();
    }

    /// <summary>Row 19.</summary>
    public void SetPublishing(bool isPublishing)
    {
        (IsPublishing, moreNotifications) = (isPublishing, false);
        ResetLifetime();
    }

    /// <summary>The publishing timer has expired.</summary>
    /// <returns>False: the lifetime is over (row 27).</returns>
    public bool OnTimer()
    {
        if (lifetimeCounter <= 1)
        {
            return false;
        }

        lifetimeCounter--;
        var now = LookAround();
        Poll();
        var isAvailable = IsPublishing && IsReady(now);
        var isQueued = Session is { Publishing.Count: > 0 };
        switch (State)
        {
            case SubscriptionState.Normal or SubscriptionState.KeepAlive when isAvailable && isQueued: // 6, 14
                State = SubscriptionState.Normal;
                SendNotifications(Session!.Publishing, now);
                break;
            case SubscriptionState.Normal when isQueued && !messageSent: // 7
                SendKeepAlive(Session!.Publishing.Dequeue());
                break;
            case SubscriptionState.Normal when !isQueued && (isAvailable || !messageSent): // 8
                BecomeLate(now);
                break;
            case SubscriptionState.Normal: // 9
                State = SubscriptionState.KeepAlive;
                keepAliveCounter = Settings.KeepAliveCount;
                CountKeepAlive(isQueued, now);
                break;
            case SubscriptionState.KeepAlive when isAvailable: // 17
                BecomeLate(now);
                break;
            case SubscriptionState.KeepAlive: // 15, 16, 17
                CountKeepAlive(isQueued, now);
                break;
            default: // 12
                break;
        }

        return true;
    }

    /// <summary>Uses a publish request that has arrived while <see cref="WantsPublish"/> (rows 5, 10, 11).</summary>
    public void OnPublish(PublishQueue queue)
    {
        var now = LookAround();
        if (IsPublishing && IsReady(now))
        {
            State = SubscriptionState.Normal;
            SendNotifications(queue, now);
        }
        else if (State == SubscriptionState.Late)
        {
            State = SubscriptionState.KeepAlive;
            keepAliveCounter = Settings.KeepAliveCount;
            SendKeepAlive(queue.Dequeue());
        }
        else
        {
            moreNotifications = false;
        }
    }

    /// <summary>The session has ended without taking its subscriptions along.</summary>
    public void Abandon() => (lastOwner, Session) = (Owner, null);

    /// <summary>Row 23.</summary>
    public void MoveTo(Session next)
    {
        Session = next;
        ResetLifetime();
    }

    public bool Acknowledge(uint sequenceNumber) => sent.Acknowledge(sequenceNumber);

    public uint[] AvailableSequenceNumbers() => sent.Available();

    /// <summary>Rows 20 and 21.</summary>
    public NotificationMessage? Republish(uint sequenceNumber)
    {
        ResetLifetime();
        return sent.Find(sequenceNumber);
    }

    /// <summary>A message that tells the session of what became of the subscription itself (OPC 10000-4, 7.25.4).</summary>
    public NotificationMessage StatusChange(StatusCode status) =>
        new(nextSequenceNumber, Now, [new StatusChangeNotification(status)]);

    private DateTime Now => time.GetUtcNow().UtcDateTime;

    /// <summary>
    /// Everything that came about until now is in the message that is made next, which carries this time. What comes about while it is made may be in it too.
    /// </summary>
    private long LookAround()
    {
        publishTime = Now;
        Space.Refreshing?.Invoke();
        return time.GetTimestamp();
    }

    private void BecomeLate(long now) => (State, WaitingSince) = (SubscriptionState.Late, now);

    /// <summary>One publishing interval without a message; a keep-alive when there were enough of them.</summary>
    private void CountKeepAlive(bool isQueued, long now)
    {
        if (keepAliveCounter > 1)
        {
            keepAliveCounter--; // 16
        }
        else if (isQueued)
        {
            keepAliveCounter = Settings.KeepAliveCount; // 15
            SendKeepAlive(Session!.Publishing.Dequeue());
        }
        else
        {
            BecomeLate(now); // 17
        }
    }

    /// <summary>Sends what is there, in as many messages as it takes and as there are publish requests.</summary>
    private void SendNotifications(PublishQueue queue, long now)
    {
        do
        {
            var items = Collect(now, out moreNotifications);
            var message = new NotificationMessage(TakeSequenceNumber(), publishTime, [new DataChangeNotification(items)]);
            sent.Add(message);
            Send(queue.Dequeue(), message, moreNotifications);
        }
        while (moreNotifications && queue.Count > 0);
        WaitingSince = now;
    }

    /// <summary>Tells the number of the next message, and leaves it to that.</summary>
    private void SendKeepAlive(PendingPublish request) =>
        Send(request, new NotificationMessage(nextSequenceNumber, publishTime, []), hasMore: false);

    private void Send(PendingPublish request, NotificationMessage message, bool hasMore)
    {
        messageSent = true;
        ResetLifetime();
        request.Answer(new PublishResponse(id, sent.Available(), hasMore, message, request.Results), Now);
    }

    /// <summary>Sequence numbers begin at 1, and again after the greatest (OPC 10000-4, 7.8 and 7.26).</summary>
    private uint TakeSequenceNumber()
    {
        var taken = nextSequenceNumber;
        nextSequenceNumber = taken == uint.MaxValue ? 1 : taken + 1;
        return taken;
    }
}
