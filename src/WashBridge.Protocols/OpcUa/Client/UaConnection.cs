using System.Security.Cryptography;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Logging.Abstractions;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>
/// Keeps a session and its subscriptions alive for ever (OPC 10000-4, 6.7): connects anew, activates the session on the new channel, asks for lost
/// messages again, takes subscriptions over into a new session, else creates them anew and says that there is a gap.
/// </summary>
public sealed partial class UaConnection : IAsyncDisposable
{
    private readonly Lock gate = new();
    private readonly UaClientOptions options;
    private readonly ILogger logger;
    private readonly TimeProvider time;
    private readonly SessionOpener opener;
    private readonly Backoff backoff;
    private readonly ServerClock clock;
    private readonly Counters counters = new();
    private readonly List<UaSubscription> subscriptions = [];
    private readonly CancellationTokenSource stopping = new();
    private readonly TaskScheduler scheduler;
    private readonly Task running;
    private TaskCompletionSource<UaSession> sessionReady = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private UaSession? session;
    private Publisher? publisher;
    private UaConnectionState state = UaConnectionState.Connecting;
    private UaException? lastError;

    /// <param name="scheduler">Everything runs on it, so that a test can run it step by step.</param>
    internal UaConnection(UaClientOptions options, OpenChannel open, ILogger logger, TimeProvider time, Random jitter, TaskScheduler scheduler)
    {
        this.options = options;
        this.logger = logger;
        this.time = time;
        this.scheduler = scheduler;
        opener = new SessionOpener(options, open, logger, time);
        backoff = new Backoff(options, jitter, time);
        clock = new ServerClock(options.ClockDrift, options.ClockResolution, time);
        if (options.Mode == Security.MessageSecurityMode.None)
        {
            ClientLog.NotProtected(logger, options.Endpoint);
        }

        running = Task.Factory.StartNew(RunAsync, CancellationToken.None, TaskCreationOptions.DenyChildAttach, scheduler).Unwrap();
    }

    public UaClientOptions Options => options;

    public UaConnectionState State
    {
        get
        {
            lock (gate)
            {
                return state;
            }
        }
    }

    /// <summary>Why there is no connection, or was none until the last success; null if there never was trouble.</summary>
    public UaException? LastError
    {
        get
        {
            lock (gate)
            {
                return lastError;
            }
        }
    }

    /// <summary>The session in use; null while there is none. It may end at any moment: ask again instead of keeping it.</summary>
    public UaSession? Session
    {
        get
        {
            lock (gate)
            {
                return session;
            }
        }
    }

    /// <summary>Outlives sessions. Null until the server's status has been read once.</summary>
    public ClockOffset? Clock => clock.Current;

    public UaConnectionCounters Counters => counters.ToPublic();

    /// <summary>Begins to connect, in the background and for ever; never fails because of the server.</summary>
    /// <exception cref="ArgumentException">An option is not allowed.</exception>
    public static UaConnection Start(UaClientOptions options, ILogger? logger, TimeProvider time)
    {
        options.Validate();
        var log = logger ?? NullLogger.Instance;
        return new UaConnection(options, ClientChannelAdapter.Opener(options, log, time), log, time, new Random(RandomNumberGenerator.GetInt32(int.MaxValue)), TaskScheduler.Default);
    }

    /// <summary>Creates a subscription as soon as there is a session, and keeps it until it is disposed of.</summary>
    /// <exception cref="ArgumentException">The specification is not allowed.</exception>
    public UaSubscription Subscribe(SubscriptionSpec spec, ISubscriptionListener listener)
    {
        spec.Validate();
        ArgumentNullException.ThrowIfNull(listener);
        ObjectDisposedException.ThrowIf(stopping.IsCancellationRequested, this);
        var subscription = new UaSubscription(spec, listener, options, counters, logger, time, scheduler, Forget);
        lock (gate)
        {
            subscriptions.Add(subscription);
            if (session is { } current)
            {
                _ = subscription.AttachAsync(new Attachment(current, publisher!, IsKept: false));
            }
        }

        return subscription;
    }

    /// <summary>A session that works, as soon as there is one.</summary>
    public Task<UaSession> WaitForSessionAsync(CancellationToken cancellation = default)
    {
        lock (gate)
        {
            return sessionReady.Task.WaitAsync(cancellation);
        }
    }

    /// <summary>Ends all subscriptions and the session.</summary>
    public async ValueTask DisposeAsync()
    {
        if (stopping.IsCancellationRequested)
        {
            return;
        }

        UaSubscription[] all;
        lock (gate)
        {
            all = [.. subscriptions];
        }

        await Task.WhenAll(all.Select(s => s.DisposeAsync().AsTask()));
        stopping.Cancel();
        await running;
        SetState(UaConnectionState.Closed);
        sessionReady.TrySetException(new ObjectDisposedException(nameof(UaConnection)));
    }

    private void Forget(UaSubscription subscription)
    {
        lock (gate)
        {
            subscriptions.Remove(subscription);
        }
    }

    private void SetState(UaConnectionState now)
    {
        lock (gate)
        {
            state = now;
        }
    }

    private UaSubscription[] Subscriptions()
    {
        lock (gate)
        {
            return [.. subscriptions];
        }
    }
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
