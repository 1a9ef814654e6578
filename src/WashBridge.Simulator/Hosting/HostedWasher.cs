using System.Net;
using System.Net.Sockets;
using Microsoft.Extensions.Logging;

namespace WashBridge.Simulator.Hosting;

/// <summary>A simulated washer behind a server, which is closed while the connection is lost or the controller is off.</summary>
public abstract partial class HostedWasher
{
    private readonly ILogger _logger;
    private IAsyncDisposable? _server;
    private IPEndPoint? _endpoint;

    private protected HostedWasher(SimulatedWasher washer, Func<TimeSpan> elapsed, ILogger logger) => (Washer, Elapsed, _logger) = (washer, elapsed, logger);

    public SimulatedWasher Washer { get; }

    /// <summary>Where its controller answers; the same after every loss of connection.</summary>
    public IPEndPoint Endpoint => _endpoint ?? throw new InvalidOperationException("not started");

    /// <summary>False while the connection is lost or the controller is off.</summary>
    public bool IsListening => _server is not null;

    private protected Func<TimeSpan> Elapsed { get; }

    /// <summary>See <see cref="SimulatedWasher.Begin"/>.</summary>
    /// <param name="after">From now on.</param>
    public void Begin(TimeSpan after) => Washer.Begin(Elapsed() + after);

    internal async Task StartAsync(int port) => (_server, _endpoint) = await ListenAsync(new IPEndPoint(IPAddress.Loopback, port));

    /// <summary>Brings the washer to the present, and the server to what the link allows.</summary>
    internal async ValueTask SettleAsync()
    {
        var up = Advance();
        if (!up)
        {
            await StopAsync();
        }
        else if (_server is null)
        {
            try
            {
                (_server, _) = await ListenAsync(Endpoint);
            }
            catch (SocketException e)
            {
                // Another process took the port meanwhile: the next tick tries again.
                Log.PortTaken(_logger, Washer.Options.Id, Endpoint.Port, e.Message);
            }
        }
    }

    internal async ValueTask StopAsync()
    {
        if (_server is { } server)
        {
            _server = null;
            await server.DisposeAsync();
        }
    }

    /// <returns>Whether anybody answers. Between the loss and the next settling a request can still come in: it gets no values.</returns>
    private protected virtual bool Advance()
    {
        var now = Elapsed();
        Washer.AdvanceTo(now);
        return Washer.Link.IsUp(now);
    }

    private protected abstract Task<(IAsyncDisposable Server, IPEndPoint Endpoint)> ListenAsync(IPEndPoint endpoint);

    private static partial class Log
    {
        [LoggerMessage(1501, LogLevel.Warning, "Simulated washer {Washer}: port {Port} cannot be opened again: {Reason}")]
        public static partial void PortTaken(ILogger logger, string washer, int port, string reason);
    }
}
