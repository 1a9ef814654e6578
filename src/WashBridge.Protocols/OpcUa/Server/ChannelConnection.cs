using System.Collections.Concurrent;
using System.Diagnostics.CodeAnalysis;
using System.Net;
using System.Net.Sockets;
using Microsoft.Extensions.Logging;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>
/// One client's connection. Requests are taken and answered one after the other, so that a client that does not read its answers is not read from
/// either; answers to publish requests go out in the background.
/// </summary>
[SuppressMessage("Design", "CA1001:Types that own disposable fields should be disposable", Justification = "It may be closed at any time; the token source holds nothing that needs disposing.")]
internal sealed class ChannelConnection(Socket socket, ServerLog log, TimeProvider time) : IServerConnection
{
    /// <summary>With more answers than this in the background, no further request is taken.</summary>
    private const int MaxBacklog = 256;

    private readonly ConcurrentQueue<Func<ServerChannel, ValueTask>> outgoing = new();
    private readonly CancellationTokenSource closing = new();
    private ServerChannel? channel;
    private int backlog;
    private Task sending = Task.CompletedTask;

    public SecurityPolicy Policy => channel!.Policy;

    public MessageSecurityMode Mode => channel!.Mode;

    public ReadOnlyMemory<byte> ClientCertificate => channel!.ClientCertificate;

    public string Address { get; } = (socket.RemoteEndPoint as IPEndPoint)?.Address.ToString() ?? "";

    public string Peer { get; } = socket.RemoteEndPoint?.ToString() ?? "";

    /// <summary>Since when no activated session is used on it, on the monotonic clock.</summary>
    public long IdleSince { get; private set; } = time.GetTimestamp();

    public bool HasSession
    {
        get;
        set
        {
            IdleSince = time.GetTimestamp();
            field = value;
        }
    }

    public bool IsClosing => closing.IsCancellationRequested;

    public Task Running { get; set; } = Task.CompletedTask;

    /// <summary>Serves until the connection ends.</summary>
    /// <returns>Why it ended.</returns>
    public async Task<string> ServeAsync(ServerChannelOptions options, ServiceHost host, ILogger logger)
    {
        try
        {
            channel = await ServerChannel.AcceptAsync(new NetworkStream(socket, ownsSocket: true), options, logger, time, closing.Token);
            while (await channel.ReceiveAsync(closing.Token) is { } request)
            {
                using (request)
                {
                    await host.AnswerAsync(this, request, closing.Token);
                }

                if (Volatile.Read(ref backlog) > MaxBacklog)
                {
                    await sending;
                }
            }

            return "closed by the client";
        }
        catch (UaException e)
        {
            return e.Message;
        }
        catch (Exception e) when (IsClosing || e is ObjectDisposedException)
        {
            return "closed by the server";
        }
        catch (Exception e)
        {
            log.RequestFailed(Address, "a connection", e);
            return e.Message;
        }
        finally
        {
            if (channel is not null)
            {
                await channel.DisposeAsync();
            }
            else
            {
                socket.Dispose();
            }
        }
    }

    /// <summary>Ends it, from any thread.</summary>
    public void Close()
    {
        // What waits for it must not go on here, under the caller's locks.
        _ = closing.CancelAsync();
        socket.Dispose();
    }

    public ValueTask SendAsync<TResponse>(uint requestId, ResponseHeader header, TResponse body, CancellationToken cancellation)
        where TResponse : IEncodable<TResponse> => channel!.SendAsync(requestId, header, body, cancellation);

    public void Post<TResponse>(uint requestId, ResponseHeader header, TResponse body)
        where TResponse : IEncodable<TResponse>
    {
        outgoing.Enqueue(to => to.SendAsync(requestId, header, body, closing.Token));
        if (Interlocked.Increment(ref backlog) == 1)
        {
            sending = Task.Run(SendAllAsync);
        }
    }

    /// <summary>Runs once at a time: started by whoever adds the first answer, ends with the last one.</summary>
    private async Task SendAllAsync()
    {
        do
        {
            if (outgoing.TryDequeue(out var send))
            {
                try
                {
                    await send(channel!);
                }
                catch (Exception e)
                {
                    if (e is not (UaException or OperationCanceledException or ObjectDisposedException))
                    {
                        log.RequestFailed(Address, "a publish response", e);
                    }

                    // Whoever receives from it learns that the connection is lost. A client that waits for this answer in vain would be worse.
                    Close();
                }
            }
        }
        while (Interlocked.Decrement(ref backlog) > 0);
    }
}
