using System.Runtime.CompilerServices;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>
/// A session on one channel (OPC 10000-4, 5.7), for reading only. May be used by several callers at once. It does not reconnect: once the channel is
/// lost every call fails. <see cref="UaConnection"/> keeps one alive.
/// </summary>
/// <remarks>Every service that takes a list splits it by the server's limits, and gives one result for each element, in order.</remarks>
public sealed partial class UaSession : IAsyncDisposable
{
    private readonly IServiceChannel channel;
    private readonly SessionState state;
    private readonly UaClientOptions options;
    private readonly ILogger logger;
    private readonly TimeProvider time;
    private readonly TaskCompletionSource<UaException> lost = new();

    /// <summary>That of whoever opened the session: the loss is told on it, never from within a request that finds it out.</summary>
    private readonly TaskScheduler scheduler = TaskScheduler.Current;
    private long lastReceived;
    private volatile bool isLost;

    internal UaSession(IServiceChannel channel, SessionState state, UaClientOptions options, ILogger logger, TimeProvider time)
    {
        this.channel = channel;
        this.state = state;
        this.options = options;
        this.logger = logger;
        this.time = time;
        lastReceived = time.GetTimestamp();
        channel.Closed.ContinueWith(closed => lost.TrySetResult(closed.Result), CancellationToken.None, TaskContinuationOptions.None, scheduler);
    }

    /// <summary>The endpoint that was chosen, as its discovery described it.</summary>
    public EndpointDescription Endpoint => state.Endpoint.Description;

    public NodeId SessionId => state.SessionId;

    public NamespaceTable Namespaces => state.Namespaces;

    public OperationLimits Limits => state.Limits.ToPublic();

    /// <summary>Null until the server's status has been read.</summary>
    public ClockOffset? Clock => state.Clock.Current;

    /// <summary>As it was read last; null if it never was.</summary>
    public ServerStatus? Status => state.Status;

    /// <summary>As revised by the server.</summary>
    public TimeSpan SessionTimeout => state.Timeout;

    /// <summary>Completes when the session is of no more use, with the reason as its result.</summary>
    public Task<UaException> Closed => lost.Task;

    internal SessionState State => state;

    internal bool IsGivenUp { get; private set; }

    /// <summary>True as soon as it is found out; <see cref="Closed"/> follows.</summary>
    internal bool IsLost => isLost || lost.Task.IsCompleted;

    /// <summary>Stamp of the latest answer of any kind.</summary>
    internal long LastReceived => Volatile.Read(ref lastReceived);

    /// <summary>Asks for the endpoints, checks the certificate, opens a channel, creates and activates a session, and reads what is needed to use it.</summary>
    /// <exception cref="UaException">The server cannot be reached, is not trusted, offers something else, or refuses; the message says which.</exception>
    public static Task<UaSession> ConnectAsync(UaClientOptions options, ILogger? logger, TimeProvider time, CancellationToken cancellation = default)
    {
        options.Validate();
        var log = logger ?? NullLogger.Instance;
        return ConnectAsync(options, ClientChannelAdapter.Opener(options, log, time), log, time, cancellation);
    }

    internal static async Task<UaSession> ConnectAsync(UaClientOptions options, OpenChannel open, ILogger logger, TimeProvider time, CancellationToken cancellation)
    {
        var opener = new SessionOpener(options, open, logger, time);
        var endpoint = await opener.DiscoverAsync(cancellation);
        var channel = await opener.OpenChannelAsync(endpoint, cancellation);
        try
        {
            return await opener.CreateAsync(channel, endpoint, new ServerClock(options.ClockDrift, options.ClockResolution, time), cancellation);
        }
        catch
        {
            await channel.DisposeAsync();
            throw;
        }
    }

    /// <summary>Closes the session, its subscriptions and the channel.</summary>
    public async ValueTask DisposeAsync()
    {
        if (!IsLost)
        {
            try
            {
                await RequestAsync<CloseSessionRequest, CloseSessionResponse>(new CloseSessionRequest(DeleteSubscriptions: true), options.RequestTimeout, CancellationToken.None);
            }
            catch (UaException)
            {
                // The server forgets the session by itself when its time is out.
            }
        }

        await AbandonAsync();
    }

    /// <summary>The session is of no use though its channel is: it is not activated again.</summary>
    internal void GiveUp(UaException reason)
    {
        IsGivenUp = isLost = true;
        _ = Task.Factory.StartNew(() => lost.TrySetResult(reason), CancellationToken.None, TaskCreationOptions.DenyChildAttach, scheduler);
    }

    /// <summary>Closes the channel only: the session lives on at the server until its time is out.</summary>
    internal ValueTask AbandonAsync()
    {
        lost.TrySetResult(new UaException(StatusCodes.BadConnectionClosed, "closed on this side"));
        return channel.DisposeAsync();
    }

    [AsyncMethodBuilder(typeof(PoolingAsyncValueTaskMethodBuilder<>))]
    internal async ValueTask<ServiceResponse<TResponse>> RequestAsync<TRequest, TResponse>(TRequest body, TimeSpan timeout, CancellationToken cancellation)
        where TRequest : IRequest<TRequest, TResponse>
        where TResponse : IEncodable<TResponse>
    {
        try
        {
            var response = await channel.RequestAsync<TRequest, TResponse>(body, state.AuthenticationToken, timeout, cancellation);
            Volatile.Write(ref lastReceived, response.Received);
            return response;
        }
        catch (UaServiceException e)
        {
            Volatile.Write(ref lastReceived, time.GetTimestamp());
            if (SessionLoss.IsMeantBy(e.Status))
            {
                isLost = true;
                _ = Task.Factory.StartNew(() => lost.TrySetResult(e), CancellationToken.None, TaskCreationOptions.DenyChildAttach, scheduler);
            }

            throw;
        }
    }
}
