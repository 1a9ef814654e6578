using System.Net;
using System.Net.Sockets;
using Microsoft.Extensions.Logging;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Simulator.Hosting;

/// <summary>A simulated washer behind a Modbus server.</summary>
public sealed partial class HostedWasher : IModbusDataSource
{
    private readonly Func<TimeSpan> _elapsed;
    private readonly ILogger _logger;
    private readonly TimeProvider _time;
    private ModbusServer? _server;

    internal HostedWasher(SimulatedWasher washer, int port, Func<TimeSpan> elapsed, ILogger logger, TimeProvider time)
    {
        Washer = washer;
        _elapsed = elapsed;
        _logger = logger;
        _time = time;
        Listen(new IPEndPoint(IPAddress.Loopback, port));
        Endpoint = _server!.Endpoint;
    }

    public SimulatedWasher Washer { get; }

    /// <summary>Where its controller answers; the same after every loss of connection.</summary>
    public IPEndPoint Endpoint { get; }

    /// <summary>False while the connection is lost or the controller is off.</summary>
    public bool IsListening => _server is not null;

    ModbusExceptionCode? IModbusDataSource.ReadBits(byte unit, ModbusTable table, ushort address, Span<bool> destination) =>
        Advance() ? Washer.Registers.ReadBits(unit, table, address, destination) : ModbusExceptionCode.GatewayTargetFailedToRespond;

    ModbusExceptionCode? IModbusDataSource.ReadRegisters(byte unit, ModbusTable table, ushort address, Span<ushort> destination) =>
        Advance() ? Washer.Registers.ReadRegisters(unit, table, address, destination) : ModbusExceptionCode.GatewayTargetFailedToRespond;

    IReadOnlyDictionary<byte, string> IModbusDataSource.Identify(byte unit) => Washer.Registers.Identify(unit);

    /// <summary>Brings the washer to the present, and the server to what the link allows.</summary>
    internal async ValueTask SettleAsync()
    {
        var up = Advance();
        if (!up && _server is { } server)
        {
            _server = null;
            await server.DisposeAsync();
        }
        else if (up && _server is null)
        {
            try
            {
                Listen(Endpoint);
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
    private bool Advance()
    {
        var now = _elapsed();
        Washer.AdvanceTo(now);
        return Washer.Link.IsUp(now);
    }

    private void Listen(IPEndPoint endpoint) =>
        _server = ModbusServer.Start(endpoint, this, new ModbusServerOptions { ReplyDelay = () => Washer.Link.ReplyDelay(_elapsed()) }, _logger, _time);

    private static partial class Log
    {
        [LoggerMessage(1501, LogLevel.Warning, "Simulated washer {Washer}: port {Port} cannot be opened again: {Reason}")]
        public static partial void PortTaken(ILogger logger, string washer, int port, string reason);
    }
}
