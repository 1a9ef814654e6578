using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>Who a session acts for (OPC 10000-4, 7.41). The name is null for anonymous users.</summary>
internal sealed record SessionUser(string? Name)
{
    public static SessionUser Anonymous { get; } = new((string?)null);

    public bool IsAnonymous => Name is null;
}

/// <summary>
/// A session (OPC 10000-4, 5.7). What changes is guarded by the lock that <see cref="SessionManager"/> and <see cref="SubscriptionManager"/>
/// share; browse continuation points have their own.
/// </summary>
internal sealed class Session(NodeId id, NodeId token, string applicationUri, TimeSpan timeout, IServerConnection connection, UaServerLimits limits, TimeProvider time)
{
    public NodeId Id => id;

    /// <summary>A secret between server and client.</summary>
    public NodeId AuthenticationToken => token;

    public string ApplicationUri => applicationUri;

    public TimeSpan Timeout => timeout;

    public string? Name { get; init; }

    /// <summary>The channel that it may be used on: another one after it was activated there.</summary>
    public IServerConnection Connection { get; set; } = connection;

    public bool IsActivated => User is not null;

    /// <summary>Null: not activated yet.</summary>
    public SessionUser? User { get; set; }

    /// <summary>A request may still be under way on it.</summary>
    public bool IsEnded { get; set; }

    /// <summary>The latest nonce sent, which the client signs next.</summary>
    public byte[] ServerNonce { get; set; } = [];

    /// <summary>On the monotonic clock.</summary>
    public long LastRequest { get; set; }

    public PublishQueue Publishing { get; } = new(limits.MaxPublishRequestsPerSession, time);

    public List<Subscription> Subscriptions { get; } = [];

    /// <summary>What became of subscriptions that this session has no more. As many at most as it may have subscriptions.</summary>
    public Queue<(uint SubscriptionId, NotificationMessage Message)> StatusChanges { get; } = [];

    public BrowseContinuations Browses { get; } = new(limits.MaxBrowseContinuationPoints);
}
