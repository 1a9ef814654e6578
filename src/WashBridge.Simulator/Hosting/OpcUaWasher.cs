using System.Net;
using Microsoft.Extensions.Logging;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Simulator.Nodes;

namespace WashBridge.Simulator.Hosting;

/// <summary>A simulated washer behind an OPC UA server. Whoever reads or waits for a message brings it to the present.</summary>
internal sealed class OpcUaWasher : HostedWasher
{
    private readonly UaServerOptions _options;
    private readonly WasherNodes _nodes;
    private readonly ILogger _logger;
    private readonly TimeProvider _time;

    public OpcUaWasher(SimulatedWasher washer, UaServerOptions options, DateTimeOffset start, long startStamp, Func<TimeSpan> elapsed, ILogger logger, TimeProvider time)
        : base(washer, elapsed, logger)
    {
        (_options, _logger, _time) = (options, logger, time);
        _nodes = new WasherNodes(washer, start, startStamp, time);
        _nodes.Space.Refreshing = () => Advance();
    }

    private protected override bool Advance()
    {
        var up = base.Advance();
        _nodes.Refresh();
        return up;
    }

    private protected override async Task<(IAsyncDisposable Server, IPEndPoint Endpoint)> ListenAsync(IPEndPoint endpoint)
    {
        var server = await UaServer.StartAsync(_options with { ListenAddress = endpoint.Address, Port = endpoint.Port }, _nodes.Space, _logger, _time);
        return (server, new IPEndPoint(endpoint.Address, server.Endpoint.Port));
    }
}
