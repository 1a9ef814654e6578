using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Logging.Abstractions;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>
/// An OPC UA server that can be browsed, read and monitored, and nothing else: every service that would change something answers
/// BadServiceUnsupported. Everything that clients can make it keep is bounded by <see cref="UaServerLimits"/>.
/// </summary>
public sealed partial class UaServer : IAsyncDisposable
{
    private UaServer(UaServerOptions options, AddressSpace space, ILogger logger, TimeProvider time)
    {
    }

    /// <summary>Where clients reach it, with the port that was chosen if 0 was asked for.</summary>
    public Uri Endpoint { get; } = null!;

    /// <summary>Connections now.</summary>
    public int ChannelCount => 0;

    /// <summary>Sessions now.</summary>
    public int SessionCount => 0;

    /// <summary>Subscriptions now, those without a session included.</summary>
    public int SubscriptionCount => 0;

    /// <summary>Starts to listen. The address space may be filled and changed before and after; one server at a time serves it.</summary>
    /// <exception cref="ArgumentException">Options that do not go together.</exception>
    /// <exception cref="InvalidOperationException">Another server serves this address space.</exception>
    /// <exception cref="System.Net.Sockets.SocketException">The address is in use or not this machine's.</exception>
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
    }

    /// <summary>Stops listening, tells nobody, closes all connections, and waits until nothing of them runs any more.</summary>
    public ValueTask DisposeAsync() => ValueTask.CompletedTask;
}
