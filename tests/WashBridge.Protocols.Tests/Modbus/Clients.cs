using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Protocols.Tests.Modbus;

internal static class Clients
{
    public static readonly TimeSpan Timeout = TimeSpan.FromSeconds(1);

    public static ModbusClient Over(Stream stream, int inFlight = 1, TimeProvider? time = null) =>
        new(stream, null, new ModbusClientOptions { Host = "scripted", InFlight = inFlight, Timeout = Timeout }, null, time ?? new FakeTimeProvider());

    public static Task<ModbusClient> ToAsync(ModbusServer server, int inFlight = 1) => ModbusClient.ConnectAsync(
        new ModbusClientOptions { Host = "127.0.0.1", Port = server.Endpoint.Port, InFlight = inFlight, Timeout = TimeSpan.FromSeconds(20) },
        null,
        TimeProvider.System,
        TestContext.Current.CancellationToken);

    /// <summary>Asks now, to be awaited later.</summary>
    public static Task<ModbusTiming> AskRegisters(this ModbusClient client, byte unit, ModbusTable table, ushort address, ushort[] destination) =>
        client.ReadRegistersAsync(unit, table, address, destination, TestContext.Current.CancellationToken).AsTask();

    public static Task<ModbusTiming> AskBits(this ModbusClient client, byte unit, ModbusTable table, ushort address, bool[] destination) =>
        client.ReadBitsAsync(unit, table, address, destination, TestContext.Current.CancellationToken).AsTask();
}

internal static class Frames
{
    /// <summary>A whole message, as text.</summary>
    public static string Of(ushort transaction, byte unit, string pdu) => Hex.Text(Bytes(transaction, unit, Hex.Bytes(pdu)));

    public static byte[] Bytes(ushort transaction, byte unit, byte[] pdu)
    {
        var adu = new byte[Mbap.Size + pdu.Length];
        Mbap.Write(adu, transaction, unit, pdu.Length);
        pdu.CopyTo(adu, Mbap.Size);
        return adu;
    }

    /// <summary>The answer to a read of holding registers.</summary>
    public static byte[] Registers(ushort transaction, byte unit, params ushort[] registers)
    {
        var pdu = new byte[2 + (2 * registers.Length)];
        ReadPdu.WriteRegisters(pdu, ModbusTable.HoldingRegisters, registers);
        return Bytes(transaction, unit, pdu);
    }

    public static ushort Transaction(byte[] adu) => Mbap.Read(adu).Transaction;
}
