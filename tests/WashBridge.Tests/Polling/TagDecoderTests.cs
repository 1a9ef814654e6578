using CsCheck;
using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Polling;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Tests.Polling;

public sealed class TagDecoderTests
{
    [Theory]
    [InlineData(3, 0.1, 0, 0.3)]
    [InlineData(-127, 0.1, 0, -12.7)]
    [InlineData(253, 0.01, 1.01, 3.54)]
    [InlineData(7, 2.5, -1, 16.5)]
    [InlineData(5, -1, 0, -5)]
    public void A_quantity_is_raw_times_scale_plus_offset(double raw, double scale, double offset, double expected) =>
        Assert.Equal(Good(expected), TagDecoder.Decode(Quantity() with { Scale = scale, Offset = offset }, Raw(raw)));

    [Fact]
    public void Scaling_never_leaves_the_exact_product_by_more_than_rounding() =>
        Gen.Select(Gen.Double[-1e9, 1e9], Gen.OneOf(Gen.Double[1e-6, 1e6], Gen.Int[1, 1000].Select(d => 1.0 / d))).Sample((raw, scale) =>
        {
            var value = TagDecoder.Decode(Quantity() with { Scale = scale }, Raw(raw)).Value.Number;
            Assert.InRange(value, (raw * scale) - Math.Abs(raw * scale * 1e-15), (raw * scale) + Math.Abs(raw * scale * 1e-15));
        });

    [Theory]
    [InlineData(0, false, false)]
    [InlineData(1, false, true)]
    [InlineData(7, false, true)]
    [InlineData(0, true, true)]
    [InlineData(1, true, false)]
    public void A_flag_is_set_by_anything_but_zero_unless_inverted(double raw, bool invert, bool expected)
    {
        var reading = TagDecoder.Decode(Of(SignalType.Flag) with { Invert = invert }, Raw(raw));
        Assert.Equal((expected, Quality.Good), (reading.Value.IsSet, reading.Quality));
    }

    [Theory]
    [InlineData(9.9, Quality.Uncertain)]
    [InlineData(10, Quality.Good)]
    [InlineData(90, Quality.Good)]
    [InlineData(90.1, Quality.Uncertain)]
    public void A_value_outside_its_limits_is_kept_but_uncertain(double raw, Quality quality)
    {
        var reading = TagDecoder.Decode(Quantity() with { Minimum = 10, Maximum = 90 }, Raw(raw));
        Assert.Equal((raw, quality, quality == Quality.Good), (reading.Value.Number, reading.Quality, reading.Reason is null));
    }

    [Theory]
    [InlineData(double.NaN, "the controller sends no number (NaN)")]
    [InlineData(double.PositiveInfinity, "the controller sends infinity")]
    [InlineData(double.NegativeInfinity, "the controller sends infinity")]
    public void What_is_no_number_is_bad_and_has_no_value(double raw, string reason)
    {
        var reading = TagDecoder.Decode(Quantity() with { Minimum = 10 }, Raw(raw));
        Assert.Equal((Quality.Bad, reason, true), (reading.Quality, reading.Reason, double.IsNaN(reading.Value.Number)));
    }

    [Theory]
    [InlineData(SignalType.Integer, DecodeIssue.NotBcd, "a digit of the BCD value is above 9")]
    [InlineData(SignalType.Text, DecodeIssue.NotAscii, "the text holds characters that are not printable ASCII")]
    public void What_cannot_be_decoded_is_bad(SignalType type, DecodeIssue issue, string reason)
    {
        var reading = TagDecoder.Decode(Of(type), new ModbusValue(double.NaN, null, issue));
        Assert.Equal((Quality.Bad, reason), (reading.Quality, reading.Reason));
    }

    [Fact]
    public void A_whole_number_too_large_to_be_exact_is_uncertain() =>
        Assert.Equal(Quality.Uncertain, TagDecoder.Decode(Of(SignalType.Integer), new ModbusValue(1e17, null, DecodeIssue.Inexact)).Quality);

    [Fact]
    public void A_text_is_kept_as_it_is_and_may_be_empty()
    {
        Assert.Equal("K-0042", TagDecoder.Decode(Of(SignalType.Text), new ModbusValue(double.NaN, "K-0042", DecodeIssue.None)).Value.Text);
        Assert.Equal(Quality.Good, TagDecoder.Decode(Of(SignalType.Text), new ModbusValue(double.NaN, "", DecodeIssue.None)).Quality);
    }

    [Fact]
    public void A_reading_becomes_a_sample_of_its_signal_with_the_bounds_of_the_read()
    {
        var tag = Quantity();
        var at = new TimeBounds(new Instant(1), new Instant(2));
        Assert.Equal(new Sample(tag.Signal, new SignalValue(4), Quality.Good, at), TagDecoder.Decode(tag, Raw(4)).At(tag.Signal, at));
    }

    private static TagReading Good(double number) => new(new SignalValue(number), Quality.Good, null);

    private static ModbusValue Raw(double number) => new(number, null, DecodeIssue.None);

    private static Tag Quantity() => Of(SignalType.Quantity);

    private static Tag Of(SignalType type) => new()
    {
        Signal = new Signal("w1", 0, "other.test", "", type),
        Group = 0,
        Source = new ModbusSource(new ModbusPoint(ModbusTable.HoldingRegisters, 0, RegisterType.UInt16)),
    };
}
