using System.Buffers.Binary;

namespace WashBridge.Protocols.Modbus;

/// <summary>What is wrong, or less than exact, with a value that was read.</summary>
public enum DecodeIssue
{
    None = 0,

    /// <summary>A 64-bit integer beyond 2^53: the number is the nearest double.</summary>
    Inexact = 1,

    /// <summary>A nibble of a BCD value is above 9: there is no number.</summary>
    NotBcd = 2,

    /// <summary>A character of a text is not printable ASCII: there is no text.</summary>
    NotAscii = 3,
}

/// <summary>A decoded value.</summary>
/// <param name="Number">A bit is 0 or 1; NaN for text and where there is no number.</param>
/// <param name="Text">For text only, without its padding.</param>
/// <param name="Issue">Whether the value can be used as it is.</param>
public readonly record struct ModbusValue(double Number, string? Text, DecodeIssue Issue)
{
    public bool HasValue => Issue is DecodeIssue.None or DecodeIssue.Inexact;
}

/// <summary>Turns registers into values and back. Nothing here touches a device.</summary>
public static class RegisterCodec
{
    public const int MaxTextLength = 250;

    /// <summary>Beyond this not every integer is a double.</summary>
    private const ulong LargestExact = 1UL << 53;

    /// <summary>Registers (or bits, in the tables of bits) that the point takes.</summary>
    /// <exception cref="ArgumentException">The point contradicts itself; the message says how.</exception>
    public static int Width(ModbusPoint point)
    {
        ArgumentNullException.ThrowIfNull(point);
        Validate(point);
        return point.Type switch
        {
            RegisterType.Bit or RegisterType.Int16 or RegisterType.UInt16 or RegisterType.Bcd16 => 1,
            RegisterType.Int32 or RegisterType.UInt32 or RegisterType.Float32 or RegisterType.Bcd32 => 2,
            RegisterType.Int64 or RegisterType.UInt64 or RegisterType.Float64 => 4,
            _ => (point.TextLength + 1) / 2,
        };
    }

    /// <summary>Decodes a point of the register tables.</summary>
    /// <param name="registers">Exactly <see cref="Width"/> of them, as they came.</param>
    public static ModbusValue Decode(ModbusPoint point, ReadOnlySpan<ushort> registers)
    {
        CheckWidth(point, registers.Length);
        if (point.Type == RegisterType.Text)
        {
            return DecodeText(point, registers);
        }

        var raw = Join(registers, point.Words, point.Bytes);
        return point.Type switch
        {
            RegisterType.Bit => Exact((raw >> point.BitNumber) & 1),
            RegisterType.Int16 => Exact((short)raw),
            RegisterType.UInt16 => Exact(raw),
            RegisterType.Int32 => Exact((int)raw),
            RegisterType.UInt32 => Exact(raw),
            RegisterType.Int64 => Whole((long)raw, (ulong)Int128.Abs((long)raw)),
            RegisterType.UInt64 => Whole(raw, raw),
            RegisterType.Float32 => Exact(BitConverter.UInt32BitsToSingle((uint)raw)),
            RegisterType.Float64 => Exact(BitConverter.UInt64BitsToDouble(raw)),
            _ => DecodeBcd(raw),
        };
    }

    /// <summary>Encodes a number. Whole types round to the nearest; a bit of a register leaves the other fifteen as they are.</summary>
    /// <param name="registers">Exactly <see cref="Width"/> of them.</param>
    /// <exception cref="ArgumentOutOfRangeException">The type cannot hold the number.</exception>
    public static void Encode(ModbusPoint point, double value, Span<ushort> registers)
    {
        CheckWidth(point, registers.Length);
        switch (point.Type)
        {
            case RegisterType.Text:
                throw new ArgumentException("a text cannot hold a number", nameof(point));
            case RegisterType.Bit:
                var bit = 1UL << point.BitNumber;
                var others = Join(registers, point.Words, point.Bytes) & ~bit;
                Split(value != 0 ? others | bit : others, registers, point.Words, point.Bytes);
                break;
            case RegisterType.Float32:
                Split(BitConverter.SingleToUInt32Bits(ToSingle(value)), registers, point.Words, point.Bytes);
                break;
            case RegisterType.Float64:
                Split(BitConverter.DoubleToUInt64Bits(value), registers, point.Words, point.Bytes);
                break;
            default:
                Split(EncodeWhole(point.Type, value), registers, point.Words, point.Bytes);
                break;
        }
    }

    /// <summary>Encodes a text, padded with NUL.</summary>
    /// <exception cref="ArgumentException">Too long, or not printable ASCII.</exception>
    public static void EncodeText(ModbusPoint point, string text, Span<ushort> registers)
    {
        ArgumentNullException.ThrowIfNull(text);
        CheckWidth(point, registers.Length);
        if (point.Type != RegisterType.Text || text.Length > point.TextLength || text.AsSpan().ContainsAnyExceptInRange(' ', '~'))
        {
            throw new ArgumentException($"'{text}' is not at most {point.TextLength} printable ASCII characters", nameof(text));
        }

        registers.Clear();
        for (var i = 0; i < text.Length; i++)
        {
            registers[i / 2] |= (ushort)(IsHighByte(i, point.Bytes) ? text[i] << 8 : text[i]);
        }
    }

    /// <summary>The least and the greatest number that a type holds.</summary>
    public static (double Least, double Greatest) Range(RegisterType type) => type switch
    {
        RegisterType.Bit => (0, 1),
        RegisterType.Int16 => (short.MinValue, short.MaxValue),
        RegisterType.UInt16 => (0, ushort.MaxValue),
        RegisterType.Int32 => (int.MinValue, int.MaxValue),
        RegisterType.UInt32 => (0, uint.MaxValue),

        // The greatest doubles below 2^63 and 2^64.
        RegisterType.Int64 => (long.MinValue, 9223372036854774784),
        RegisterType.UInt64 => (0, 18446744073709549568),
        RegisterType.Bcd16 => (0, 9999),
        RegisterType.Bcd32 => (0, 99999999),
        RegisterType.Float32 => (float.MinValue, float.MaxValue),
        RegisterType.Float64 => (double.MinValue, double.MaxValue),
        _ => throw new ArgumentOutOfRangeException(nameof(type), type, "a text holds no number"),
    };

    /// <summary>Registers to the integer that they spell.</summary>
    internal static ulong Join(ReadOnlySpan<ushort> registers, WordOrder words, ByteOrder bytes)
    {
        var raw = 0UL;
        for (var i = 0; i < registers.Length; i++)
        {
            var register = registers[words == WordOrder.HighFirst ? i : registers.Length - 1 - i];
            raw = (raw << 16) | (bytes == ByteOrder.HighFirst ? register : BinaryPrimitives.ReverseEndianness(register));
        }

        return raw;
    }

    /// <summary>The reverse of <see cref="Join"/>.</summary>
    internal static void Split(ulong raw, Span<ushort> registers, WordOrder words, ByteOrder bytes)
    {
        for (var i = 0; i < registers.Length; i++)
        {
            var register = (ushort)(raw >> (16 * (registers.Length - 1 - i)));
            registers[words == WordOrder.HighFirst ? i : registers.Length - 1 - i] =
                bytes == ByteOrder.HighFirst ? register : BinaryPrimitives.ReverseEndianness(register);
        }
    }

    private static ModbusValue Exact(double number) => new(number, null, DecodeIssue.None);

    private static ModbusValue Whole(double number, ulong magnitude) =>
        new(number, null, magnitude > LargestExact ? DecodeIssue.Inexact : DecodeIssue.None);

    private static ModbusValue DecodeBcd(ulong raw)
    {
        var number = 0UL;
        for (var shift = 28; shift >= 0; shift -= 4)
        {
            var digit = (raw >> shift) & 0xF;
            if (digit > 9)
            {
                return new ModbusValue(double.NaN, null, DecodeIssue.NotBcd);
            }

            number = (10 * number) + digit;
        }

        return Exact(number);
    }

    /// <summary>Ends at the first NUL or at its length; blanks at the end are padding. The order of words has no meaning for text.</summary>
    private static ModbusValue DecodeText(ModbusPoint point, ReadOnlySpan<ushort> registers)
    {
        Span<char> characters = stackalloc char[point.TextLength];
        var length = 0;
        for (; length < characters.Length; length++)
        {
            var character = (char)(byte)(IsHighByte(length, point.Bytes) ? registers[length / 2] >> 8 : registers[length / 2]);
            if (character == '\0')
            {
                break;
            }

            if (character is < ' ' or > '~')
            {
                return new ModbusValue(double.NaN, null, DecodeIssue.NotAscii);
            }

            characters[length] = character;
        }

        return new ModbusValue(double.NaN, characters[..length].TrimEnd(' ').ToString(), DecodeIssue.None);
    }

    private static bool IsHighByte(int character, ByteOrder bytes) => (character % 2 == 0) == (bytes == ByteOrder.HighFirst);

    private static ulong EncodeWhole(RegisterType type, double value)
    {
        var whole = Math.Round(value);
        var (least, greatest) = Range(type);
        if (!(whole >= least && whole <= greatest))
        {
            throw new ArgumentOutOfRangeException(nameof(value), value, $"{type} holds {least} to {greatest}");
        }

        return type switch
        {
            RegisterType.UInt64 => (ulong)whole,
            RegisterType.Bcd16 or RegisterType.Bcd32 => ToBcd((uint)whole),
            _ => (ulong)(long)whole,
        };
    }

    private static float ToSingle(double value)
    {
        var single = (float)value;
        return float.IsInfinity(single) && !double.IsInfinity(value)
            ? throw new ArgumentOutOfRangeException(nameof(value), value, $"{RegisterType.Float32} holds {float.MinValue} to {float.MaxValue}")
            : single;
    }

    private static ulong ToBcd(uint number)
    {
        var raw = 0UL;
        for (var shift = 0; number > 0; shift += 4, number /= 10)
        {
            raw |= (ulong)(number % 10) << shift;
        }

        return raw;
    }

    private static void Validate(ModbusPoint point)
    {
        var isOfBits = ReadPdu.IsOfBits(point.Table);
        if (isOfBits && point.Type != RegisterType.Bit)
        {
            throw new ArgumentException($"{point.Table} hold bits, not {point.Type}", nameof(point));
        }

        if (point.Type == RegisterType.Bit && (point.BitNumber < 0 || point.BitNumber > (isOfBits ? 0 : 15)))
        {
            throw new ArgumentException($"bit number {point.BitNumber}; allowed: {(isOfBits ? "0" : "0 to 15")}", nameof(point));
        }

        if (point.Type == RegisterType.Text && point.TextLength is < 1 or > MaxTextLength)
        {
            throw new ArgumentException($"text length {point.TextLength}; allowed: 1 to {MaxTextLength}", nameof(point));
        }
    }

    private static void CheckWidth(ModbusPoint point, int found)
    {
        if (Width(point) is var width && width != found)
        {
            throw new ArgumentException($"{point.Type} takes {width} registers, not {found}", nameof(found));
        }
    }
}
