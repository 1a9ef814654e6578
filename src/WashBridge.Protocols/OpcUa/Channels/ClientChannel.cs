using System.Net.Sockets;
using Microsoft.Extensions.Logging;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>
/// One connection to a server and the secure channel on it (OPC 10000-6, 6.7 and 7.1). May be used by many callers at once. The token is renewed in time;
/// the connection is not: once it is lost, every request fails with the first cause, and <see cref="Closed"/> tells it.
/// </summary>
/// <remarks>
/// Await each returned ValueTask exactly once. Over a socket the channel has a thread of its own; and where the server usually answers within a
/// millisecond and nobody else waits, awaiting blocks the caller's thread for that long, at most 20 ms: see <see cref="TryReceiveNow"/>.
/// </remarks>
public sealed partial class ClientChannel : IAsyncDisposable
{
    private readonly Lock gate = new();
    private readonly Stream stream;
    private readonly ClientChannelOptions options;
    private readonly ILogger logger;
    private readonly TimeProvider time;
    private readonly ChannelSecurity security;
    private readonly OpenChunk openChunk;

    private ClientChannel(Stream stream, ClientChannelOptions options, ILogger logger, TimeProvider time)
    {
        this.stream = stream;
        this.options = options;
        this.logger = logger;
        this.time = time;
        security = new ChannelSecurity(options.Policy, options.Mode);
        openChunk = new OpenChunk(options.Policy, options.Certificate, options.ServerCertificate);
        incoming = new ReceiveBuffer(options.Limits.ReceiveBufferSize);
        messages = new IncomingMessages(security, options.Limits, time);
        socket = stream as SocketStream;
        soonTicks = time.TimestampFrequency / 1000;
        expiry = time.CreateTimer(static channel => ((ClientChannel)channel!).Expire(), this, Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);
        renewal = time.CreateTimer(static channel => ((ClientChannel)channel!).OnRenewalDue(), this, Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);
    }

    /// <summary>Completes when the connection is of no more use. The result is the first cause: what the server said, what went wrong, or that it was closed here.</summary>
    public Task<UaException> Closed => closed.Task;

    public Uri Endpoint => options.Endpoint;

    public SecurityPolicy Policy => options.Policy;

    public MessageSecurityMode Mode => options.Mode;

    /// <summary>Our own certificate, as the options said.</summary>
    public ApplicationCertificate? Certificate => options.Certificate;

    /// <summary>The server's, as the options said. That the server has its key is proved by the open channel, except under the policy None.</summary>
    public ReadOnlyMemory<byte> ServerCertificate => options.ServerCertificate;

    /// <summary>Given by the server.</summary>
    public uint ChannelId { get; private set; }

    /// <summary>The clock of every stamp.</summary>
    public TimeProvider Time => time;

    /// <summary>Connects and opens a channel.</summary>
    /// <exception cref="UaException">The server cannot be reached, refuses, breaks the rules, or takes longer than allowed (BadTimeout).</exception>
    /// <exception cref="ArgumentException">The options contradict each other.</exception>
    public static async Task<ClientChannel> OpenAsync(ClientChannelOptions options, ILogger logger, TimeProvider time, CancellationToken cancellation)
    {
        options.Validate();
        using var tooLate = new CancellationTokenSource(options.ConnectTimeout, time);
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(tooLate.Token, cancellation);
        var socket = new Socket(SocketType.Stream, ProtocolType.Tcp) { NoDelay = true };
        var opened = new TaskCompletionSource<ClientChannel>(TaskCreationOptions.RunContinuationsAsynchronously);
        var thread = new Thread(() => Live(socket, options, logger, time, opened)) { IsBackground = true, Name = $"OPC UA {options.Endpoint.Authority}" };
        thread.Start();
        try
        {
            return await opened.Task.WaitAsync(stop.Token);
        }
        catch (Exception e)
        {
            Abort(socket);
            _ = DisposeLateAsync(opened.Task);
            cancellation.ThrowIfCancellationRequested();
            throw tooLate.IsCancellationRequested ? TookTooLong(options) : Explain(e);
        }
    }

    /// <summary>Opens a channel over a connection that exists already.</summary>
    /// <param name="stream">Owned by the channel, also if opening fails.</param>
    /// <inheritdoc cref="OpenAsync(ClientChannelOptions, ILogger, TimeProvider, CancellationToken)"/>
    public static async Task<ClientChannel> OpenAsync(Stream stream, ClientChannelOptions options, ILogger logger, TimeProvider time, CancellationToken cancellation)
    {
        options.Validate();
        using var tooLate = new CancellationTokenSource(options.ConnectTimeout, time);
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(tooLate.Token, cancellation);
        ClientChannel? channel = null;
        try
        {
            channel = new ClientChannel(stream, options, logger, time);
            await channel.ShakeHandsAsync(stop.Token);
            _ = channel.ReceiveFromStreamAsync();
            return channel;
        }
        catch (Exception e)
        {
            var reason = tooLate.IsCancellationRequested ? TookTooLong(options) : Explain(e);
            channel?.Abort(reason);
            await stream.DisposeAsync();
            cancellation.ThrowIfCancellationRequested();
            throw reason;
        }
    }

    /// <summary>Tells the server that the channel is closed, if that can be done at once, and closes the connection. Requests on their way fail.</summary>
    public ValueTask DisposeAsync()
    {
        SayGoodbye();
        Break(new UaException(StatusCodes.BadConnectionClosed, "the connection was closed on this side"), isExpected: true);
        return ValueTask.CompletedTask;
    }

    /// <summary>The thread of a channel over a socket: it connects, opens and receives.</summary>
    private static void Live(Socket socket, ClientChannelOptions options, ILogger logger, TimeProvider time, TaskCompletionSource<ClientChannel> opened)
    {
        ClientChannel? channel = null;
        try
        {
            Connect(socket, options.Endpoint);
            channel = new ClientChannel(new SocketStream(socket), options, logger, time);

            // Nothing in it waits for another thread: the stream's reads block.
            channel.ShakeHandsAsync(CancellationToken.None).GetAwaiter().GetResult();
        }
        catch (Exception e)
        {
            channel?.Abort(Explain(e));
            socket.Dispose();
            opened.SetException(e);
            return;
        }

        opened.SetResult(channel);
        channel.ReceiveOnThread();
    }

    /// <summary>Nobody waits for it any more. A name that is being looked up cannot be interrupted: the thread ends when that does.</summary>
    private static async Task DisposeLateAsync(Task<ClientChannel> opening)
    {
        try
        {
            await (await opening).DisposeAsync();
        }
        catch (Exception e) when (e is UaException or IOException or SocketException or ObjectDisposedException or OperationCanceledException)
        {
            // It has failed, as it was told to.
        }
    }

    private static void Connect(Socket socket, Uri endpoint)
    {
        try
        {
            socket.Connect(endpoint.IdnHost, endpoint.Port > 0 ? endpoint.Port : ClientChannelOptions.DefaultPort);
        }
        catch (SocketException e)
        {
            throw new UaException(StatusCodes.BadCommunicationError, $"cannot connect to {endpoint}: {e.Message}", e);
        }
    }

    /// <summary>Wakes the thread that is blocked in connecting or receiving.</summary>
    private static void Abort(Socket socket)
    {
        try
        {
            if (socket.Connected)
            {
                socket.Shutdown(SocketShutdown.Both);
            }
            else
            {
                socket.Dispose();
            }
        }
        catch (Exception e) when (e is SocketException or ObjectDisposedException)
        {
            // It has ended by itself.
        }
    }

    private static UaException TookTooLong(ClientChannelOptions options) =>
        new(StatusCodes.BadTimeout, $"no secure channel to {options.Endpoint} within {options.ConnectTimeout.TotalMilliseconds:0} ms");

    private static UaException Explain(Exception e) => e switch
    {
        UaException known => known,
        IOException or ObjectDisposedException => new UaException(StatusCodes.BadConnectionClosed, $"the connection was lost: {e.Message}", e),
        _ => new UaException(StatusCodes.BadUnexpectedError, e.Message, e),
    };

    private static partial class Log
    {
        [LoggerMessage(1201, LogLevel.Information, "Opened channel {Channel} to {Endpoint} with policy {Policy} and mode {Mode}")]
        public static partial void Opened(ILogger logger, Uri endpoint, uint channel, SecurityPolicy policy, MessageSecurityMode mode);

        [LoggerMessage(1202, LogLevel.Warning, "Channel {Channel} to {Endpoint} is broken: {Reason}")]
        public static partial void Broken(ILogger logger, Uri endpoint, uint channel, string reason);

        [LoggerMessage(1203, LogLevel.Information, "Closed channel {Channel} to {Endpoint}")]
        public static partial void Closed(ILogger logger, Uri endpoint, uint channel);

        [LoggerMessage(1204, LogLevel.Debug, "Renewed the token of channel {Channel} to {Endpoint}: token {Token} for {Lifetime}")]
        public static partial void Renewed(ILogger logger, Uri endpoint, uint channel, uint token, TimeSpan lifetime);

        [LoggerMessage(1205, LogLevel.Debug, "Dropped a late answer of {Endpoint} to request {Request}")]
        public static partial void LateAnswer(ILogger logger, Uri endpoint, uint request);

        [LoggerMessage(1206, LogLevel.Warning, "Dropped an answer of {Endpoint} to request {Request}, which nobody made")]
        public static partial void StrayAnswer(ILogger logger, Uri endpoint, uint request);
    }
}
