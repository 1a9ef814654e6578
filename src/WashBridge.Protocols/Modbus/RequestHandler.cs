using System.Buffers.Binary;
using Microsoft.Extensions.Logging;

namespace WashBridge.Protocols.Modbus;

/// <summary>Answers one request PDU. Reads only: every function it does not know is refused with exception 01 (V1.1b3, 7).</summary>
internal sealed partial class RequestHandler(IModbusDataSource source, ILogger logger)
{
    private readonly bool[] bits = new bool[ReadPdu.MaxBits];
    private readonly ushort[] registers = new ushort[ReadPdu.MaxRegisters];

    /// <param name="unit">Device asked for.</param>
    /// <param name="request">At least one byte.</param>
    /// <param name="reply">At least <see cref="Mbap.MaxPdu"/> bytes.</param>
    /// <returns>Length of the reply.</returns>
    public int Answer(byte unit, ReadOnlySpan<byte> request, Span<byte> reply)
    {
        var function = request[0];
        try
        {
            return function switch
            {
                >= (byte)ModbusTable.Coils and <= (byte)ModbusTable.InputRegisters => Read(unit, (ModbusTable)function, request, reply),
                DeviceIdentificationPdu.Function => Identify(unit, request, reply),
                _ => ReadPdu.WriteException(reply, function, ModbusExceptionCode.IllegalFunction),
            };
        }
#pragma warning disable CA1031 // Whatever is wrong with the source of the data, the client must get an answer.
        catch (Exception e)
#pragma warning restore CA1031
        {
            SourceFailed(logger, unit, function, e);
            return ReadPdu.WriteException(reply, function, ModbusExceptionCode.ServerDeviceFailure);
        }
    }

    /// <summary>The state diagrams of V1.1b3, 6.1 to 6.4: quantity (03) is judged before address (02).</summary>
    private int Read(byte unit, ModbusTable table, ReadOnlySpan<byte> request, Span<byte> reply)
    {
        if (request.Length != ReadPdu.RequestSize)
        {
            return ReadPdu.WriteException(reply, (byte)table, ModbusExceptionCode.IllegalDataValue);
        }

        var address = BinaryPrimitives.ReadUInt16BigEndian(request[1..]);
        var quantity = BinaryPrimitives.ReadUInt16BigEndian(request[3..]);
        if (quantity < 1 || quantity > ReadPdu.MaxQuantity(table))
        {
            return ReadPdu.WriteException(reply, (byte)table, ModbusExceptionCode.IllegalDataValue);
        }

        if (address + quantity > 65536)
        {
            return ReadPdu.WriteException(reply, (byte)table, ModbusExceptionCode.IllegalDataAddress);
        }

        if (ReadPdu.IsOfBits(table))
        {
            var destination = bits.AsSpan(0, quantity);
            return source.ReadBits(unit, table, address, destination) is { } code
                ? ReadPdu.WriteException(reply, (byte)table, code)
                : ReadPdu.WriteBits(reply, table, destination);
        }
        else
        {
            var destination = registers.AsSpan(0, quantity);
            return source.ReadRegisters(unit, table, address, destination) is { } code
                ? ReadPdu.WriteException(reply, (byte)table, code)
                : ReadPdu.WriteRegisters(reply, table, destination);
        }
    }

    private int Identify(byte unit, ReadOnlySpan<byte> request, Span<byte> reply)
    {
        const byte Function = DeviceIdentificationPdu.Function;
        if (request.Length < 2 || request[1] != DeviceIdentificationPdu.MeiType)
        {
            return ReadPdu.WriteException(reply, Function, ModbusExceptionCode.IllegalFunction);
        }

        if (request.Length != DeviceIdentificationPdu.RequestSize || request[2] is < 1 or > DeviceIdentificationPdu.SingleObject)
        {
            return ReadPdu.WriteException(reply, Function, ModbusExceptionCode.IllegalDataValue);
        }

        var all = DeviceIdentificationPdu.Encode(source.Identify(unit));
        if (all.Count == 0)
        {
            return ReadPdu.WriteException(reply, Function, ModbusExceptionCode.IllegalFunction);
        }

        var highest = all.Keys[^1];
        var conformity = (byte)(0x80 | (highest <= 0x02 ? 1 : highest <= 0x7F ? 2 : 3));
        var access = request[2];
        for (var i = all.Count - 1; i >= 0 && !DeviceIdentificationPdu.Includes(access, all.Keys[i]); i--)
        {
            all.RemoveAt(i);
        }

        var first = all.IndexOfKey(request[3]);
        if (first < 0 && access == DeviceIdentificationPdu.SingleObject)
        {
            return ReadPdu.WriteException(reply, Function, ModbusExceptionCode.IllegalDataAddress);
        }

        // V1.1b3, 6.21: an unknown object restarts the stream at its beginning.
        return DeviceIdentificationPdu.WriteReply(reply, access, conformity, all, Math.Max(first, 0));
    }

    [LoggerMessage(1151, LogLevel.Error, "The data source failed for function {Function} of unit {Unit}")]
    private static partial void SourceFailed(ILogger logger, byte unit, byte function, Exception exception);
}
