using System.Net;
using System.Net.Sockets;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Logging.Abstractions;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>
/// An OPC UA server that can be browsed, read and monitored, and nothing else: every service that would change something answers
/// BadServiceUnsupported. Everything that clients can make it keep is bounded by <see cref="UaServerLimits"/>.
/// </summary>
public sealed partial class UaServer : IAsyncDisposable
{
    private static readonly TimeSpan SweepInterval = TimeSpan.FromSeconds(1);

    private readonly Lock gate = new();
    private readonly HashSet<ChannelConnection> connections = [];
    private readonly CancellationTokenSource stop = new();
    private readonly UaServerOptions options;
    private readonly AddressSpace space;
    private readonly ILogger logger;
    private readonly ServerLog log;
    private readonly TimeProvider time;
    private readonly Socket listener;
    private readonly ServiceHost host;
    private readonly UaNode serverObject;
    private readonly ITimer sweep;
    private readonly Task accepting;
    private bool isDisposed;

    private UaServer(UaServerOptions options, AddressSpace space, ILogger logger, TimeProvider time)
    {
        (this.options, this.space, this.logger, this.time) = (options, space, logger, time);
        log = new ServerLog(logger);
        listener = new Socket(options.ListenAddress.AddressFamily, SocketType.Stream, ProtocolType.Tcp);
        try
        {
            if (options.ListenAddress.Equals(IPAddress.IPv6Any))
            {
                listener.DualMode = true;
            }

            listener.Bind(new IPEndPoint(options.ListenAddress, options.Port));
            serverObject = new ServerObject(space, options, time.GetUtcNow().UtcDateTime).Add();
            listener.Listen();
        }
        catch
        {
            listener.Dispose();
            throw;
        }

        var endpoints = new EndpointList(options, ((IPEndPoint)listener.LocalEndPoint!).Port);
        Endpoint = endpoints.Url;
        host = new ServiceHost(options, space, endpoints, log, time);
        log.Listening(Endpoint);
        if (options.Endpoints.Any(static endpoint => endpoint.Policy.IsNone))
        {
            log.Unprotected(Endpoint);
        }

        sweep = time.CreateTimer(static server => ((UaServer)server!).Sweep(), this, SweepInterval, SweepInterval);
        accepting = Task.Run(AcceptAsync);
    }

    /// <summary>Where clients reach it, with the port that was chosen if 0 was asked for.</summary>
    public Uri Endpoint { get; }

    /// <summary>Connections now.</summary>
    public int ChannelCount
    {
        get
        {
            lock (gate)
            {
                return connections.Count;
            }
        }
    }

    /// <summary>Sessions now.</summary>
    public int SessionCount => host.Sessions.Count;

    /// <summary>Subscriptions now, those without a session included.</summary>
    public int SubscriptionCount => host.Subscriptions.Count;

    /// <summary>Starts to listen. The address space may be filled and changed before and after; one server at a time serves it.</summary>
    /// <exception cref="ArgumentException">Options that do not go together, or an address space that another server serves.</exception>
    /// <exception cref="SocketException">The address is in use or not this machine's.</exception>
    public static Task<UaServer> StartAsync(UaServerOptions options, AddressSpace space, ILogger? logger = null, TimeProvider? time = null)
    {
        ArgumentNullException.ThrowIfNull(options);
        ArgumentNullException.ThrowIfNull(space);
        options.Validate();
        return Task.FromResult(new UaServer(options, space, logger ?? NullLogger.Instance, time ?? TimeProvider.System));
    }

    /// <summary>Cuts every connection and keeps listening: what a client sees of a pulled cable. Sessions and subscriptions stay until they time out.</summary>
    public void DropConnections()
    {
        lock (gate)
        {
            foreach (var connection in connections)
            {
                connection.Close();
            }
        }
    }

    /// <summary>Stops listening, closes all connections, and waits until nothing of them runs any more. The address space can be served anew.</summary>
    public async ValueTask DisposeAsync()
    {
        Task[] running;
        lock (gate)
        {
            if (isDisposed)
            {
                return;
            }

            isDisposed = true;
            running = [.. connections.Select(static connection => connection.Running)];
        }

        await stop.CancelAsync();
        listener.Dispose();
        await sweep.DisposeAsync();
        DropConnections();
        await accepting;
        await Task.WhenAll(running);
        host.Subscriptions.Stop();
        space.RemoveStandard(serverObject);
        stop.Dispose();
    }

    private void Sweep()
    {
        host.Sessions.Sweep();
        lock (gate)
        {
            foreach (var connection in connections)
            {
                if (!connection.HasSession && time.GetElapsedTime(connection.IdleSince) >= options.Limits.MaxTimeWithoutSession)
                {
                    connection.Close();
                }
            }
        }
    }
}
