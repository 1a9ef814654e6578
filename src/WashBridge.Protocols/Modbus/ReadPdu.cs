using System.Buffers.Binary;

namespace WashBridge.Protocols.Modbus;

/// <summary>The reading functions 01 to 04 (V1.1b3, 6.1 to 6.4) and the exception reply (V1.1b3, 7).</summary>
internal static class ReadPdu
{
    /// <summary>V1.1b3, 6.1 and 6.2: 0x7D0.</summary>
    public const int MaxBits = 2000;

    /// <summary>V1.1b3, 6.3 and 6.4: 0x7D.</summary>
    public const int MaxRegisters = 125;

    /// <summary>Function, starting address, quantity.</summary>
    public const int RequestSize = 5;

    /// <summary>V1.1b3, 7: set in the function code of an exception reply.</summary>
    public const byte ExceptionFlag = 0x80;

    public static bool IsOfBits(ModbusTable table) => table is ModbusTable.Coils or ModbusTable.DiscreteInputs;

    public static int MaxQuantity(ModbusTable table) => IsOfBits(table) ? MaxBits : MaxRegisters;

    public static int DataBytes(ModbusTable table, int quantity) => IsOfBits(table) ? (quantity + 7) / 8 : 2 * quantity;

    public static void WriteRequest(Span<byte> pdu, ModbusTable table, ushort address, ushort quantity)
    {
        pdu[0] = (byte)table;
        BinaryPrimitives.WriteUInt16BigEndian(pdu[1..], address);
        BinaryPrimitives.WriteUInt16BigEndian(pdu[3..], quantity);
    }

    /// <summary>Function, byte count, then eight bits a byte: the lowest address in the least significant bit, unused bits 0 (V1.1b3, 6.1).</summary>
    /// <returns>Length of the PDU.</returns>
    public static int WriteBits(Span<byte> pdu, ModbusTable table, ReadOnlySpan<bool> bits)
    {
        var count = (bits.Length + 7) / 8;
        pdu[0] = (byte)table;
        pdu[1] = (byte)count;
        var data = pdu.Slice(2, count);
        data.Clear();
        for (var i = 0; i < bits.Length; i++)
        {
            if (bits[i])
            {
                data[i >> 3] |= (byte)(1 << (i & 7));
            }
        }

        return 2 + count;
    }

    /// <summary>Function, byte count, then each register, high byte first (V1.1b3, 6.3).</summary>
    /// <returns>Length of the PDU.</returns>
    public static int WriteRegisters(Span<byte> pdu, ModbusTable table, ReadOnlySpan<ushort> registers)
    {
        pdu[0] = (byte)table;
        pdu[1] = (byte)(2 * registers.Length);
        for (var i = 0; i < registers.Length; i++)
        {
            BinaryPrimitives.WriteUInt16BigEndian(pdu[(2 + (2 * i))..], registers[i]);
        }

        return 2 + (2 * registers.Length);
    }

    /// <returns>Length of the PDU.</returns>
    public static int WriteException(Span<byte> pdu, byte function, ModbusExceptionCode code)
    {
        pdu[0] = (byte)(function | ExceptionFlag);
        pdu[1] = (byte)code;
        return 2;
    }

    /// <summary>Whether the reply carries exactly the data asked for; if not, why.</summary>
    public static string? CheckData(ReadOnlySpan<byte> pdu, int dataBytes)
    {
        if (pdu[1] != dataBytes)
        {
            return $"byte count {pdu[1]} instead of {dataBytes}";
        }

        return pdu.Length == 2 + dataBytes ? null : $"{pdu.Length - 2} data bytes instead of {dataBytes}";
    }

    public static void ReadBits(ReadOnlySpan<byte> pdu, Span<bool> destination)
    {
        var data = pdu[2..];
        for (var i = 0; i < destination.Length; i++)
        {
            destination[i] = (data[i >> 3] & (1 << (i & 7))) != 0;
        }
    }

    public static void ReadRegisters(ReadOnlySpan<byte> pdu, Span<ushort> destination)
    {
        var data = pdu[2..];
        for (var i = 0; i < destination.Length; i++)
        {
            destination[i] = BinaryPrimitives.ReadUInt16BigEndian(data[(2 * i)..]);
        }
    }
}
