using System.Net;
using Microsoft.Extensions.Logging;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Simulator.Hosting;

/// <summary>A simulated washer behind a Modbus server. Every request brings it to the present.</summary>
internal sealed class ModbusWasher(SimulatedWasher washer, Func<TimeSpan> elapsed, ILogger logger, TimeProvider time) : HostedWasher(washer, elapsed, logger), IModbusDataSource
{
    private readonly ILogger _logger = logger;

    ModbusExceptionCode? IModbusDataSource.ReadBits(byte unit, ModbusTable table, ushort address, Span<bool> destination) =>
        Advance() ? Washer.Registers.ReadBits(unit, table, address, destination) : ModbusExceptionCode.GatewayTargetFailedToRespond;

    ModbusExceptionCode? IModbusDataSource.ReadRegisters(byte unit, ModbusTable table, ushort address, Span<ushort> destination) =>
        Advance() ? Washer.Registers.ReadRegisters(unit, table, address, destination) : ModbusExceptionCode.GatewayTargetFailedToRespond;

    IReadOnlyDictionary<byte, string> IModbusDataSource.Identify(byte unit) => Washer.Registers.Identify(unit);

    private protected override Task<(IAsyncDisposable Server, IPEndPoint Endpoint)> ListenAsync(IPEndPoint endpoint)
    {
        var server = ModbusServer.Start(endpoint, this, new ModbusServerOptions { ReplyDelay = () => Washer.Link.ReplyDelay(Elapsed()) }, _logger, time);
        return Task.FromResult<(IAsyncDisposable, IPEndPoint)>((server, server.Endpoint));
    }
}
