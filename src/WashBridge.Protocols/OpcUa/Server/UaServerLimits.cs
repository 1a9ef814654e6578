namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>
/// What clients may take of a server. Most are told to them under Server/ServerCapabilities (OPC 10000-5, 6.3.2); beyond them they get the
/// status code named here.
/// </summary>
public sealed record UaServerLimits
{
    /// <summary>Connections at once. 1 to 10,000; 200 by default. The oldest without an activated session gives way to another; else that is closed.</summary>
    public int MaxChannels { get; init; } = 200;

    /// <summary>A connection without an activated session is closed after this. 1 s to 1 h; 1 min by default.</summary>
    public TimeSpan MaxTimeWithoutSession { get; init; } = TimeSpan.FromMinutes(1);

    /// <summary>Sessions at once. 1 to 10,000; 100 by default. BadTooManySessions.</summary>
    public int MaxSessions { get; init; } = 100;

    /// <summary>Of them, sessions that nobody has activated yet. 1 to 1,000; 20 by default. The oldest such session gives way.</summary>
    public int MaxUnactivatedSessions { get; init; } = 20;

    /// <summary>A session without a request for longer is closed. 10 s to 1 day; clients ask for less or get this; 1 h by default.</summary>
    public TimeSpan MaxSessionTimeout { get; init; } = TimeSpan.FromHours(1);

    /// <summary>The shortest session time-out that clients can ask for. 100 ms to 1 h; 10 s by default.</summary>
    public TimeSpan MinSessionTimeout { get; init; } = TimeSpan.FromSeconds(10);

    /// <summary>Subscriptions of one session. 1 to 1,000; 20 by default. BadTooManySubscriptions.</summary>
    public int MaxSubscriptionsPerSession { get; init; } = 20;

    /// <summary>Subscriptions of all sessions, and of those that ended without deleting theirs. 1 to 10,000; 500 by default. BadTooManySubscriptions.</summary>
    public int MaxSubscriptions { get; init; } = 500;

    /// <summary>Monitored items of one subscription. 1 to 1,000,000; 10,000 by default. BadTooManyMonitoredItems.</summary>
    public int MaxMonitoredItemsPerSubscription { get; init; } = 10_000;

    /// <summary>Monitored items of all subscriptions. 1 to 10,000,000; 100,000 by default. BadTooManyMonitoredItems.</summary>
    public int MaxMonitoredItems { get; init; } = 100_000;

    /// <summary>Values that an item queues. 1 to 100,000; 1,000 by default. Clients get the smaller of theirs and this.</summary>
    public int MaxQueueSize { get; init; } = 1_000;

    /// <summary>Values queued by the items of one subscription together: queue sizes are revised so that they stay within. 1 to 100,000,000; 1,000,000 by default.</summary>
    public int MaxQueuedValuesPerSubscription { get; init; } = 1_000_000;

    /// <summary>1 ms to 1 h; 10 ms by default. Clients get the longer of theirs and this.</summary>
    public TimeSpan MinSamplingInterval { get; init; } = TimeSpan.FromMilliseconds(10);

    /// <summary>1 ms to 1 h; 20 ms by default. Clients get the longer of theirs and this.</summary>
    public TimeSpan MinPublishingInterval { get; init; } = TimeSpan.FromMilliseconds(20);

    /// <summary>A longer one is shortened to this. 1 s to 1 day; 1 h by default.</summary>
    public TimeSpan MaxPublishingInterval { get; init; } = TimeSpan.FromHours(1);

    /// <summary>A subscription that nobody fetches from ends after this at the latest. 1 min to 30 days; 1 h by default.</summary>
    public TimeSpan MaxSubscriptionLifetime { get; init; } = TimeSpan.FromHours(1);

    /// <summary>Values in one notification message. 10 to 100,000; 10,000 by default. The rest follows in the next message.</summary>
    public int MaxNotificationsPerPublish { get; init; } = 10_000;

    /// <summary>Publish requests that a session may have waiting. 2 to 1,000; 100 by default. The oldest gets BadTooManyPublishRequests.</summary>
    public int MaxPublishRequestsPerSession { get; init; } = 100;

    /// <summary>Messages that a subscription keeps until they are acknowledged. 2 to 1,000; 20 by default. The oldest is dropped: BadMessageNotAvailable.</summary>
    public int MaxRetransmissionMessages { get; init; } = 20;

    /// <summary>1 to 100,000; 1,000 by default. BadTooManyOperations.</summary>
    public int MaxNodesPerRead { get; init; } = 1_000;

    /// <summary>1 to 100,000; 200 by default, also for BrowseNext. BadTooManyOperations.</summary>
    public int MaxNodesPerBrowse { get; init; } = 200;

    /// <summary>References in one result. 10 to 100,000; 1,000 by default. More follow by BrowseNext.</summary>
    public int MaxReferencesPerNode { get; init; } = 1_000;

    /// <summary>Browses that a session may leave unfinished. 1 to 1,000; 20 by default. BadNoContinuationPoints.</summary>
    public int MaxBrowseContinuationPoints { get; init; } = 20;

    /// <summary>1 to 100,000; 200 by default. BadTooManyOperations.</summary>
    public int MaxNodesPerTranslate { get; init; } = 200;

    /// <summary>Steps of one path. 1 to 1,000; 32 by default. BadTooManyOperations for the path.</summary>
    public int MaxPathElements { get; init; } = 32;

    /// <summary>1 to 100,000; 1,000 by default. BadTooManyOperations.</summary>
    public int MaxNodesPerRegister { get; init; } = 1_000;

    /// <summary>Items of one call to create, change, switch or delete them. 1 to 100,000; 1,000 by default. BadTooManyOperations.</summary>
    public int MaxMonitoredItemsPerCall { get; init; } = 1_000;

    /// <summary>Failed logins of one user from one address until no more are judged for a while. 2 to 100; 5 by default. BadUserAccessDenied.</summary>
    public int MaxLoginFailures { get; init; } = 5;

    /// <summary>How long no logins are judged after too many failures. 1 s to 1 day; 1 min by default.</summary>
    public TimeSpan LoginLockout { get; init; } = TimeSpan.FromMinutes(1);

    /// <summary>A failed login is answered after this; twice as late with each further one, 16 times at most. 0 to 5 s; 500 ms by default.</summary>
    public TimeSpan LoginDelay { get; init; } = TimeSpan.FromMilliseconds(500);

    /// <exception cref="ArgumentOutOfRangeException">A limit outside its range.</exception>
    internal void Validate()
    {
        Check(MaxChannels, 1, 10_000, nameof(MaxChannels));
        Check(MaxSessions, 1, 10_000, nameof(MaxSessions));
        Check(MaxUnactivatedSessions, 1, 1_000, nameof(MaxUnactivatedSessions));
        Check(MaxSubscriptionsPerSession, 1, 1_000, nameof(MaxSubscriptionsPerSession));
        Check(MaxSubscriptions, 1, 10_000, nameof(MaxSubscriptions));
        Check(MaxMonitoredItemsPerSubscription, 1, 1_000_000, nameof(MaxMonitoredItemsPerSubscription));
        Check(MaxMonitoredItems, 1, 10_000_000, nameof(MaxMonitoredItems));
        Check(MaxQueueSize, 1, 100_000, nameof(MaxQueueSize));
        Check(MaxQueuedValuesPerSubscription, 1, 100_000_000, nameof(MaxQueuedValuesPerSubscription));
        Check(MaxNotificationsPerPublish, 10, 100_000, nameof(MaxNotificationsPerPublish));
        Check(MaxPublishRequestsPerSession, 2, 1_000, nameof(MaxPublishRequestsPerSession));
        Check(MaxRetransmissionMessages, 2, 1_000, nameof(MaxRetransmissionMessages));
        Check(MaxNodesPerRead, 1, 100_000, nameof(MaxNodesPerRead));
        Check(MaxNodesPerBrowse, 1, 100_000, nameof(MaxNodesPerBrowse));
        Check(MaxReferencesPerNode, 10, 100_000, nameof(MaxReferencesPerNode));
        Check(MaxBrowseContinuationPoints, 1, 1_000, nameof(MaxBrowseContinuationPoints));
        Check(MaxNodesPerTranslate, 1, 100_000, nameof(MaxNodesPerTranslate));
        Check(MaxPathElements, 1, 1_000, nameof(MaxPathElements));
        Check(MaxNodesPerRegister, 1, 100_000, nameof(MaxNodesPerRegister));
        Check(MaxMonitoredItemsPerCall, 1, 100_000, nameof(MaxMonitoredItemsPerCall));
        Check(MaxLoginFailures, 2, 100, nameof(MaxLoginFailures));
        Check(MaxTimeWithoutSession, TimeSpan.FromSeconds(1), TimeSpan.FromHours(1), nameof(MaxTimeWithoutSession));
        Check(MinSessionTimeout, TimeSpan.FromMilliseconds(100), TimeSpan.FromHours(1), nameof(MinSessionTimeout));
        Check(MaxSessionTimeout, TimeSpan.FromSeconds(10), TimeSpan.FromDays(1), nameof(MaxSessionTimeout));
        Check(MinSamplingInterval, TimeSpan.FromMilliseconds(1), TimeSpan.FromHours(1), nameof(MinSamplingInterval));
        Check(MinPublishingInterval, TimeSpan.FromMilliseconds(1), TimeSpan.FromHours(1), nameof(MinPublishingInterval));
        Check(MaxPublishingInterval, TimeSpan.FromSeconds(1), TimeSpan.FromDays(1), nameof(MaxPublishingInterval));
        Check(MaxSubscriptionLifetime, TimeSpan.FromMinutes(1), TimeSpan.FromDays(30), nameof(MaxSubscriptionLifetime));
        Check(LoginLockout, TimeSpan.FromSeconds(1), TimeSpan.FromDays(1), nameof(LoginLockout));
        Check(LoginDelay, TimeSpan.Zero, TimeSpan.FromSeconds(5), nameof(LoginDelay));
        Check(MinSessionTimeout, TimeSpan.Zero, MaxSessionTimeout, nameof(MinSessionTimeout));
        Check(MinPublishingInterval, TimeSpan.Zero, MaxPublishingInterval, nameof(MinPublishingInterval));
    }

    private static void Check<T>(T value, T minimum, T maximum, string name)
        where T : IComparable<T>
    {
        if (value.CompareTo(minimum) < 0 || value.CompareTo(maximum) > 0)
        {
            throw new ArgumentOutOfRangeException(name, value, $"allowed: {minimum} to {maximum}");
        }
    }
}
