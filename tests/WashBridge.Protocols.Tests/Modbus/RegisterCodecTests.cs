using CsCheck;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Protocols.Tests.Modbus;

/// <summary>Values in registers: worked examples, and what must hold for every value.</summary>
public sealed class RegisterCodecTests
{
    private static readonly Gen<WordOrder> GenWords = Gen.Enum<WordOrder>();
    private static readonly Gen<ByteOrder> GenBytes = Gen.Enum<ByteOrder>();

    /// <summary>1 234 567 890 is 499602D2h and 12.5 is 41480000h (IEEE 754): worked by hand from the four orders in use.</summary>
    [Theory]
    [InlineData(RegisterType.UInt32, WordOrder.HighFirst, ByteOrder.HighFirst, 1234567890, new[] { 0x4996, 0x02D2 })]
    [InlineData(RegisterType.UInt32, WordOrder.LowFirst, ByteOrder.HighFirst, 1234567890, new[] { 0x02D2, 0x4996 })]
    [InlineData(RegisterType.UInt32, WordOrder.HighFirst, ByteOrder.LowFirst, 1234567890, new[] { 0x9649, 0xD202 })]
    [InlineData(RegisterType.UInt32, WordOrder.LowFirst, ByteOrder.LowFirst, 1234567890, new[] { 0xD202, 0x9649 })]
    [InlineData(RegisterType.Float32, WordOrder.HighFirst, ByteOrder.HighFirst, 12.5, new[] { 0x4148, 0x0000 })]
    [InlineData(RegisterType.Float32, WordOrder.LowFirst, ByteOrder.HighFirst, 12.5, new[] { 0x0000, 0x4148 })]
    [InlineData(RegisterType.Int16, WordOrder.HighFirst, ByteOrder.HighFirst, -2, new[] { 0xFFFE })]
    [InlineData(RegisterType.Int32, WordOrder.LowFirst, ByteOrder.HighFirst, -2, new[] { 0xFFFE, 0xFFFF })]
    [InlineData(RegisterType.Int64, WordOrder.HighFirst, ByteOrder.HighFirst, -2, new[] { 0xFFFF, 0xFFFF, 0xFFFF, 0xFFFE })]
    [InlineData(RegisterType.UInt64, WordOrder.LowFirst, ByteOrder.HighFirst, 4294967296, new[] { 0, 0, 1, 0 })]
    [InlineData(RegisterType.Float64, WordOrder.HighFirst, ByteOrder.HighFirst, 1, new[] { 0x3FF0, 0, 0, 0 })]
    [InlineData(RegisterType.Bcd16, WordOrder.HighFirst, ByteOrder.HighFirst, 1987, new[] { 0x1987 })]
    [InlineData(RegisterType.Bcd32, WordOrder.HighFirst, ByteOrder.HighFirst, 19870601, new[] { 0x1987, 0x0601 })]
    [InlineData(RegisterType.Bcd32, WordOrder.LowFirst, ByteOrder.HighFirst, 19870601, new[] { 0x0601, 0x1987 })]
    public void Worked_examples_decode_and_encode(RegisterType type, WordOrder words, ByteOrder bytes, double value, int[] registers)
    {
        var point = new ModbusPoint(ModbusTable.HoldingRegisters, 0, type, Words: words, Bytes: bytes);
        var raw = registers.Select(r => (ushort)r).ToArray();
        Assert.Equal(new ModbusValue(value, null, DecodeIssue.None), RegisterCodec.Decode(point, raw));
        var encoded = new ushort[raw.Length];
        RegisterCodec.Encode(point, value, encoded);
        Assert.Equal(raw, encoded);
    }

    [Fact]
    public void Splitting_and_joining_any_raw_value_gives_it_back() =>
        Gen.Select(Gen.ULong, Gen.OneOf(1, 2, 4), GenWords, GenBytes).Sample((raw, width, words, bytes) =>
        {
            var kept = width == 4 ? raw : raw & ((1UL << (16 * width)) - 1);
            var registers = new ushort[width];
            RegisterCodec.Split(kept, registers, words, bytes);
            return RegisterCodec.Join(registers, words, bytes) == kept;
        });

    [Fact]
    public void Every_whole_number_of_every_type_survives_encoding_and_decoding() =>
        Gen.Select(
            Gen.OneOf(RegisterType.Int16, RegisterType.UInt16, RegisterType.Int32, RegisterType.UInt32, RegisterType.Int64, RegisterType.UInt64, RegisterType.Bcd16, RegisterType.Bcd32),
            Gen.Double[0, 1],
            GenWords,
            GenBytes).Sample((type, share, words, bytes) =>
        {
            const double Exact = 9007199254740992;
            var (least, greatest) = RegisterCodec.Range(type);
            var (low, high) = (Math.Max(least, -Exact), Math.Min(greatest, Exact));
            var value = Math.Round(low + (share * (high - low)));
            return Trip(new ModbusPoint(ModbusTable.InputRegisters, 0, type, Words: words, Bytes: bytes), value) == new ModbusValue(value, null, DecodeIssue.None);
        });

    [Fact]
    public void Every_single_and_double_survives_encoding_and_decoding() =>
        Gen.Select(Gen.Float, Gen.Double, GenWords, GenBytes).Sample((single, number, words, bytes) =>
            Trip(new ModbusPoint(ModbusTable.InputRegisters, 0, RegisterType.Float32, Words: words, Bytes: bytes), single).Number.Equals((double)single)
            && Trip(new ModbusPoint(ModbusTable.InputRegisters, 0, RegisterType.Float64, Words: words, Bytes: bytes), number).Number.Equals(number));

    [Fact]
    public void Any_printable_text_survives_encoding_and_decoding() =>
        Gen.Select(Gen.Char[' ', '~'].Array[0, 40], Gen.Int[0, 10], GenBytes).Sample((characters, spare, bytes) =>
        {
            var text = new string(characters).TrimEnd(' ');
            var point = new ModbusPoint(ModbusTable.HoldingRegisters, 0, RegisterType.Text, TextLength: Math.Max(1, text.Length + spare), Bytes: bytes);
            var registers = new ushort[RegisterCodec.Width(point)];
            RegisterCodec.EncodeText(point, text, registers);
            return RegisterCodec.Decode(point, registers).Text == text;
        });

    [Fact]
    public void A_bit_is_read_and_set_without_touching_the_others() =>
        Gen.Select(Gen.UShort, Gen.Int[0, 15], GenBytes, Gen.Bool).Sample((register, bit, bytes, value) =>
        {
            var point = new ModbusPoint(ModbusTable.HoldingRegisters, 0, RegisterType.Bit, bit, Bytes: bytes);
            var registers = new[] { register };
            RegisterCodec.Encode(point, value ? 1 : 0, registers);
            var shown = bytes == ByteOrder.HighFirst ? bit : (bit + 8) % 16;
            return RegisterCodec.Decode(point, registers).Number == (value ? 1 : 0) && ((registers[0] ^ register) & ~(1 << shown)) == 0;
        });

    [Theory]
    [InlineData(RegisterType.Bcd16, new[] { 0x198A })]
    [InlineData(RegisterType.Bcd16, new[] { 0xF000 })]
    [InlineData(RegisterType.Bcd32, new[] { 0x0001, 0x00B0 })]
    public void A_nibble_above_nine_is_no_number(RegisterType type, int[] registers)
    {
        var value = RegisterCodec.Decode(new ModbusPoint(ModbusTable.HoldingRegisters, 0, type), [.. registers.Select(r => (ushort)r)]);
        Assert.Equal((double.NaN, DecodeIssue.NotBcd, false), (value.Number, value.Issue, value.HasValue));
    }

    /// <summary>2^53 is the last integer up to which every one is a double.</summary>
    [Theory]
    [InlineData(RegisterType.UInt64, 1UL << 53, DecodeIssue.None)]
    [InlineData(RegisterType.UInt64, (1UL << 53) + 1, DecodeIssue.Inexact)]
    [InlineData(RegisterType.UInt64, ulong.MaxValue, DecodeIssue.Inexact)]
    [InlineData(RegisterType.Int64, unchecked((ulong)-(1L << 53)), DecodeIssue.None)]
    [InlineData(RegisterType.Int64, unchecked((ulong)(-(1L << 53) - 1)), DecodeIssue.Inexact)]
    [InlineData(RegisterType.Int64, 0x8000000000000000, DecodeIssue.Inexact)]
    public void A_number_beyond_the_exact_integers_says_so(RegisterType type, ulong raw, DecodeIssue issue)
    {
        var registers = new ushort[4];
        RegisterCodec.Split(raw, registers, WordOrder.HighFirst, ByteOrder.HighFirst);
        var value = RegisterCodec.Decode(new ModbusPoint(ModbusTable.HoldingRegisters, 0, type), registers);
        Assert.Equal(issue, value.Issue);
        Assert.True(value.HasValue);
    }

    [Theory]
    [InlineData(new[] { 0x4B65, 0x6700 }, 4, "Keg")]
    [InlineData(new[] { 0x4B65, 0x6720 }, 4, "Keg")]
    [InlineData(new[] { 0x4B65, 0x6741 }, 3, "Keg")]
    [InlineData(new[] { 0x0000, 0x4141 }, 4, "")]
    public void Text_ends_at_NUL_at_its_length_or_before_trailing_blanks(int[] registers, int length, string text)
    {
        var point = new ModbusPoint(ModbusTable.HoldingRegisters, 0, RegisterType.Text, TextLength: length);
        Assert.Equal(text, RegisterCodec.Decode(point, [.. registers.Select(r => (ushort)r)]).Text);
    }

    [Fact]
    public void Text_that_is_not_ASCII_is_no_text()
    {
        var value = RegisterCodec.Decode(new ModbusPoint(ModbusTable.HoldingRegisters, 0, RegisterType.Text, TextLength: 2), [0x41E4]);
        Assert.Equal((null, DecodeIssue.NotAscii), (value.Text, value.Issue));
    }

    [Theory]
    [InlineData(RegisterType.UInt16, -1)]
    [InlineData(RegisterType.UInt16, 65536)]
    [InlineData(RegisterType.Int16, 32768)]
    [InlineData(RegisterType.Int32, 2147483648)]
    [InlineData(RegisterType.Int64, 9.3e18)]
    [InlineData(RegisterType.UInt64, 1.9e19)]
    [InlineData(RegisterType.Bcd16, 10000)]
    [InlineData(RegisterType.Bcd32, -1)]
    [InlineData(RegisterType.Float32, 1e39)]
    [InlineData(RegisterType.UInt16, double.NaN)]
    public void A_number_that_does_not_fit_is_refused(RegisterType type, double value)
    {
        var point = new ModbusPoint(ModbusTable.HoldingRegisters, 0, type);
        Assert.Throws<ArgumentOutOfRangeException>(() => RegisterCodec.Encode(point, value, new ushort[RegisterCodec.Width(point)]));
    }

    [Theory]
    [InlineData(ModbusTable.Coils, RegisterType.UInt16, 0, 0)]
    [InlineData(ModbusTable.DiscreteInputs, RegisterType.Bit, 1, 0)]
    [InlineData(ModbusTable.HoldingRegisters, RegisterType.Bit, 16, 0)]
    [InlineData(ModbusTable.HoldingRegisters, RegisterType.Bit, -1, 0)]
    [InlineData(ModbusTable.HoldingRegisters, RegisterType.Text, 0, 0)]
    [InlineData(ModbusTable.HoldingRegisters, RegisterType.Text, 0, 251)]
    public void A_point_that_contradicts_itself_is_refused(ModbusTable table, RegisterType type, int bit, int length) =>
        Assert.Throws<ArgumentException>(() => RegisterCodec.Width(new ModbusPoint(table, 0, type, bit, length)));

    private static ModbusValue Trip(ModbusPoint point, double value)
    {
        var registers = new ushort[RegisterCodec.Width(point)];
        RegisterCodec.Encode(point, value, registers);
        return RegisterCodec.Decode(point, registers);
    }
}
