namespace WashBridge.Protocols.Modbus;

/// <summary>How a value lies in its registers.</summary>
public enum RegisterType
{
    /// <summary>A coil or discrete input, or one bit of a register.</summary>
    Bit = 0,
    Int16 = 1,
    UInt16 = 2,
    Int32 = 3,
    UInt32 = 4,
    Int64 = 5,
    UInt64 = 6,

    /// <summary>IEEE 754 single.</summary>
    Float32 = 7,

    /// <summary>IEEE 754 double.</summary>
    Float64 = 8,

    /// <summary>Four decimal digits in one register.</summary>
    Bcd16 = 9,

    /// <summary>Eight decimal digits in two registers.</summary>
    Bcd32 = 10,

    /// <summary>ASCII, two characters a register, padded with NUL or blanks.</summary>
    Text = 11,
}

/// <summary>Which register of a value comes first. The specification defines none for more than 16 bits: it is a setting.</summary>
public enum WordOrder
{
    HighFirst = 0,
    LowFirst = 1,
}

/// <summary>Which byte of a register comes first on the wire. The specification says the high one (V1.1b3, 4.2); some devices differ.</summary>
public enum ByteOrder
{
    HighFirst = 0,
    LowFirst = 1,
}

/// <summary>Where and how a device keeps one value.</summary>
/// <param name="Table">The table.</param>
/// <param name="Address">Zero-based protocol address, 0 to 65,535.</param>
/// <param name="Type">How to decode it.</param>
/// <param name="BitNumber">For a bit of a register: 0 (least significant) to 15.</param>
/// <param name="TextLength">For text: number of characters, 1 to 250.</param>
/// <param name="Words">Order of registers.</param>
/// <param name="Bytes">Order of bytes in a register.</param>
public sealed record ModbusPoint(
    ModbusTable Table,
    ushort Address,
    RegisterType Type,
    int BitNumber = 0,
    int TextLength = 0,
    WordOrder Words = WordOrder.HighFirst,
    ByteOrder Bytes = ByteOrder.HighFirst);
