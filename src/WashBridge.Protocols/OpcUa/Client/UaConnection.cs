using Microsoft.Extensions.Logging;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>
/// Keeps a session and its subscriptions alive for ever (OPC 10000-4, 6.7): connects anew, activates the session on the new channel, asks for lost
/// messages again, takes subscriptions over into a new session, else creates them anew and says that there is a gap.
/// </summary>
public sealed partial class UaConnection : IAsyncDisposable
{
    public UaClientOptions Options => throw new NotImplementedException();

    public UaConnectionState State => throw new NotImplementedException();

    /// <summary>Why there is no connection, or was none until the last success; null if there never was trouble.</summary>
    public UaException? LastError => throw new NotImplementedException();

    /// <summary>The session in use; null while there is none. It may end at any moment: ask again instead of keeping it.</summary>
    public UaSession? Session => throw new NotImplementedException();

    /// <summary>Outlives sessions. Null until the server's status has been read once.</summary>
    public ClockOffset? Clock => throw new NotImplementedException();

    public UaConnectionCounters Counters => throw new NotImplementedException();

    /// <summary>Begins to connect, in the background and for ever; never fails because of the server.</summary>
    /// <exception cref="ArgumentException">An option is not allowed.</exception>
    public static UaConnection Start(UaClientOptions options, ILogger? logger, TimeProvider time) => throw new NotImplementedException();

    /// <summary>Creates a subscription as soon as there is a session, and keeps it until it is disposed of.</summary>
    /// <exception cref="ArgumentException">The specification is not allowed.</exception>
    public UaSubscription Subscribe(SubscriptionSpec spec, ISubscriptionListener listener) => throw new NotImplementedException();

    /// <summary>A session that works, as soon as there is one.</summary>
    public Task<UaSession> WaitForSessionAsync(CancellationToken cancellation = default) => throw new NotImplementedException();

    /// <summary>Ends all subscriptions and the session.</summary>
    public ValueTask DisposeAsync() => throw new NotImplementedException();
}

/// <summary>A subscription of a <see cref="UaConnection"/>, through all its sessions.</summary>
public sealed partial class UaSubscription : IAsyncDisposable
{
    /// <summary>Messages that wait for a slow listener before the server is asked for no more.</summary>
    public const int MaxBacklog = 16;

    public SubscriptionSpec Spec => throw new NotImplementedException();

    /// <summary>As revised by the server; as asked for until then.</summary>
    public TimeSpan PublishingInterval => throw new NotImplementedException();

    /// <summary>As revised by the server; as asked for until then.</summary>
    public TimeSpan KeepAlive => throw new NotImplementedException();

    /// <summary>True while it runs at the server, as far as is known.</summary>
    public bool IsRunning => throw new NotImplementedException();

    /// <summary>Ends it at the server; the listener hears nothing more.</summary>
    public ValueTask DisposeAsync() => throw new NotImplementedException();
}

public enum UaConnectionState
{
    /// <summary>No connection; trying.</summary>
    Connecting,

    /// <summary>A session works.</summary>
    Connected,

    /// <summary>The server refuses us for a reason that only a person can change; tried again slowly. See <see cref="UaConnection.LastError"/>.</summary>
    Refused,

    /// <summary>Disposed of.</summary>
    Closed,
}

/// <summary>Since the connection was started.</summary>
/// <param name="Connections">Channels that carried a session.</param>
/// <param name="SessionsCreated">The others were activated again.</param>
/// <param name="SubscriptionsCreated">First ones included.</param>
/// <param name="SubscriptionsTransferred">Taken over into a new session.</param>
/// <param name="Messages">Notification messages, keep-alives not counted.</param>
/// <param name="Values">In all messages.</param>
/// <param name="Republished">Messages that were lost on the way and came when asked for again.</param>
/// <param name="MessagesLost">Messages that are lost for good, as far as gaps in the numbers show.</param>
/// <param name="Overflows">Values with the overflow bit.</param>
public readonly record struct UaConnectionCounters(
    long Connections,
    long SessionsCreated,
    long SubscriptionsCreated,
    long SubscriptionsTransferred,
    long Messages,
    long Values,
    long Republished,
    long MessagesLost,
    long Overflows);
