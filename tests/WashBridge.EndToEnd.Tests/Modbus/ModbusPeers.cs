using WashBridge.Protocols.Modbus;

namespace WashBridge.EndToEnd.Tests.Modbus;

/// <summary>The servers of other libraries. In each, registers hold their address and odd bits are set.</summary>
internal static class ModbusPeers
{
    public const string Libmodbus = "libmodbus";
    public const string Pymodbus = "pymodbus";
    public const string ModbusSerial = "modbus-serial";
    public const string Jsmodbus = "jsmodbus";

    public static Task<PeerProcess> ServeAsync(string library) => library switch
    {
        Libmodbus => PeerProcess.ServeAsync(PeerProcess.Built("libmodbus_server")),
        Pymodbus => PeerProcess.ServeAsync("/usr/bin/python3", "pymodbus_server.py"),
        ModbusSerial => PeerProcess.ServeAsync("node", "modbus_serial_server.js"),
        _ => PeerProcess.ServeAsync("node", "jsmodbus_server.js"),
    };

    public static Task<ModbusClient> ConnectAsync(int port, int inFlight, TimeProvider? time = null) => ModbusClient.ConnectAsync(
        new ModbusClientOptions { Host = "127.0.0.1", Port = port, InFlight = inFlight, Timeout = TimeSpan.FromSeconds(20), ConnectTimeout = TimeSpan.FromSeconds(20) },
        null,
        time ?? TimeProvider.System,
        TestContext.Current.CancellationToken);
}

/// <summary>For our own server, the same: registers hold their address and odd bits are set, 2,000 of each.</summary>
internal sealed class AddressSource : IModbusDataSource
{
    private const int Count = 2000;

    public ModbusExceptionCode? ReadBits(byte unit, ModbusTable table, ushort address, Span<bool> destination)
    {
        for (var i = 0; i < destination.Length; i++)
        {
            destination[i] = (address + i) % 2 == 1;
        }

        return address + destination.Length > Count ? ModbusExceptionCode.IllegalDataAddress : null;
    }

    public ModbusExceptionCode? ReadRegisters(byte unit, ModbusTable table, ushort address, Span<ushort> destination)
    {
        for (var i = 0; i < destination.Length; i++)
        {
            destination[i] = (ushort)(address + i);
        }

        return address + destination.Length > Count ? ModbusExceptionCode.IllegalDataAddress : null;
    }

    public IReadOnlyDictionary<byte, string> Identify(byte unit) =>
        new Dictionary<byte, string> { [0] = "WashBridge", [1] = "Test", [2] = "1.0" };
}
