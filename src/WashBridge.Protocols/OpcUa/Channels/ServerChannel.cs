using System.Net.Sockets;
using System.Security.Cryptography;
using Microsoft.Extensions.Logging;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>
/// The server's side of a connection and the secure channel on it (OPC 10000-6, 6.7 and 7.1). One caller receives; any number may send.
/// </summary>
public sealed partial class ServerChannel : IAsyncDisposable
{
    /// <summary>Begins anywhere, so that channels from before a restart are not taken for new ones (OPC 10000-6, 6.7.2.2).</summary>
    private static uint lastChannelId = (uint)RandomNumberGenerator.GetInt32(1, int.MaxValue);

    private readonly Stream stream;
    private readonly ServerChannelOptions options;
    private readonly ILogger logger;
    private readonly TimeProvider time;
    private readonly string peer;
    private readonly TaskCompletionSource<UaException> closed = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private int isBroken;

    private ServerChannel(Stream stream, ServerChannelOptions options, ILogger logger, TimeProvider time)
    {
        this.stream = stream;
        this.options = options;
        this.logger = logger;
        this.time = time;
        peer = stream is NetworkStream network ? network.Socket.RemoteEndPoint?.ToString() ?? "" : "memory";
        incoming = new ReceiveBuffer(Hello.MaxBytes);
        renewalsLeft = RenewalsAtOnce;
        expiry = time.CreateTimer(static channel => ((ServerChannel)channel!).Expire(), this, Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);
    }

    public uint ChannelId { get; } = NextChannelId();

    public SecurityPolicy Policy => security.Policy;

    public MessageSecurityMode Mode => security.Mode;

    /// <summary>As the client sent it, with its issuers or without, and found good; empty under the policy None.</summary>
    public ReadOnlyMemory<byte> ClientCertificate { get; private set; }

    /// <summary>Where the client believes it is connected to.</summary>
    public string EndpointUrl { get; private set; } = "";

    /// <summary>Completes when the connection is of no more use; the result is the first cause.</summary>
    public Task<UaException> Closed => closed.Task;

    /// <summary>Waits for the hello and the opening of a channel.</summary>
    /// <param name="stream">Owned by the channel, also if this fails.</param>
    /// <exception cref="UaException">The client was refused, broke the rules, went away, or took longer than allowed (BadTimeout). It has been told what it may know.</exception>
    public static async Task<ServerChannel> AcceptAsync(Stream stream, ServerChannelOptions options, ILogger logger, TimeProvider time, CancellationToken cancellation)
    {
        options.Validate();
        var channel = new ServerChannel(stream, options, logger, time);
        using var tooLate = new CancellationTokenSource(options.HandshakeTimeout, time);
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(tooLate.Token, cancellation);
        try
        {
            await channel.ShakeHandsAsync(stop.Token);
            Log.Opened(logger, channel.peer, channel.ChannelId, channel.Policy, channel.Mode);
            return channel;
        }
        catch (Exception e)
        {
            var reason = e is OperationCanceledException && !cancellation.IsCancellationRequested
                ? new UaException(StatusCodes.BadTimeout, $"no secure channel within {options.HandshakeTimeout.TotalMilliseconds:0} ms")
                : Explain(e);
            Log.Refused(logger, channel.peer, reason.Message);
            await channel.BreakAsync(reason, isToBeTold: e is UaException, isExpected: true);
            channel.StopReceiving();
            cancellation.ThrowIfCancellationRequested();
            throw reason;
        }
    }

    /// <summary>Closes the connection. Whoever still sends or receives is told so.</summary>
    public async ValueTask DisposeAsync()
    {
        await BreakAsync(new UaException(StatusCodes.BadConnectionClosed, "the connection was closed on this side"), isToBeTold: false, isExpected: true);
        if (Interlocked.Exchange(ref isReceiving, 1) == 0)
        {
            StopReceiving();
            Volatile.Write(ref isReceiving, 0);
        }
    }

    /// <summary>Tells the client why, and closes the connection.</summary>
    public async ValueTask CloseAsync(StatusCode status) =>
        await BreakAsync(new UaException(status, "the connection was closed on this side"), isToBeTold: true, isExpected: true);

    private static uint NextChannelId()
    {
        uint id;
        do
        {
            id = Interlocked.Increment(ref lastChannelId);
        }
        while (id == 0);
        return id;
    }

    private static UaException Explain(Exception e) => e switch
    {
        UaException known => known,
        IOException or ObjectDisposedException => new UaException(StatusCodes.BadConnectionClosed, $"the connection was lost: {e.Message}", e),
        _ => new UaException(StatusCodes.BadUnexpectedError, e.Message, e),
    };

    private static partial class Log
    {
        [LoggerMessage(1251, LogLevel.Information, "{Peer} opened channel {Channel} with policy {Policy} and mode {Mode}")]
        public static partial void Opened(ILogger logger, string peer, uint channel, SecurityPolicy policy, MessageSecurityMode mode);

        [LoggerMessage(1252, LogLevel.Warning, "Refused a channel to {Peer}: {Reason}")]
        public static partial void Refused(ILogger logger, string peer, string reason);

        [LoggerMessage(1253, LogLevel.Information, "Channel {Channel} of {Peer} is closed")]
        public static partial void Closed(ILogger logger, string peer, uint channel);

        [LoggerMessage(1254, LogLevel.Warning, "Channel {Channel} of {Peer} is broken: {Reason}")]
        public static partial void Broken(ILogger logger, string peer, uint channel, string reason);

        [LoggerMessage(1255, LogLevel.Debug, "{Peer} renewed the token of channel {Channel}: token {Token} for {Lifetime}")]
        public static partial void Renewed(ILogger logger, string peer, uint channel, uint token, TimeSpan lifetime);
    }
}
