using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Polling;
using WashBridge.Protocols.OpcUa;
using WashBridge.Subscribing;

namespace WashBridge.Tests.Subscribing;

public sealed class ValueDecoderTests
{
    private static readonly OpcUaSource Plain = new(new NodeId(2, "x"));

    public static TheoryData<string, Variant, double> Numbers => new()
    {
        { "temperature.caustic", (short)-605, -60.5 },
        { "temperature.caustic", 605f, 60.5 },
        { "temperature.caustic", ulong.MaxValue, ulong.MaxValue / 10.0 },
        { "temperature.caustic", true, 0.1 },
    };

    [Theory]
    [MemberData(nameof(Numbers))]
    public void Every_numeric_type_is_scaled(string signal, Variant value, double expected) =>
        Assert.Equal(expected, Decode(Of(signal) with { Scale = 0.1 }, Plain, new DataValue(value)).Value.Number, 9);

    [Fact]
    public void Flags_come_from_booleans_numbers_and_bits()
    {
        Assert.True(Decode(Of("drain.dry"), Plain, new DataValue(true)).Value.IsSet);
        Assert.True(Decode(Of("drain.dry"), Plain, new DataValue((byte)4)).Value.IsSet);
        Assert.False(Decode(Of("drain.dry") with { Invert = true }, Plain, new DataValue(true)).Value.IsSet);
        Assert.True(Decode(Of("drain.dry"), Plain with { Bit = 31 }, new DataValue(0x8000_0000)).Value.IsSet);
        Assert.False(Decode(Of("drain.dry"), Plain with { Bit = 3 }, new DataValue((ushort)4)).Value.IsSet);
        Assert.True(Decode(Of("drain.dry"), Plain with { Bit = 63 }, new DataValue(ulong.MaxValue)).Value.IsSet);
    }

    [Fact]
    public void Texts_come_from_strings_localised_texts_and_whole_numbers()
    {
        Assert.Equal("K-17", Decode(Of("keg.id"), Plain, new DataValue("K-17")).Value.Text);
        Assert.Equal("K-17", Decode(Of("keg.id"), Plain, new DataValue(new LocalizedText("en", "K-17"))).Value.Text);
        Assert.Equal("1234567890123", Decode(Of("keg.id"), Plain, new DataValue(1234567890123L)).Value.Text);
        Assert.Equal("", Decode(Of("keg.id"), Plain, new DataValue((string?)null)).Value.Text);
    }

    [Fact]
    public void An_element_is_taken_from_an_array_of_any_type()
    {
        Assert.Equal(3, Decode(Of("temperature.caustic"), Plain with { Index = 2 }, new DataValue(Variant.ArrayOf(new[] { 1f, 2f, 3f }))).Value.Number);
        Assert.Equal("b", Decode(Of("keg.id"), Plain with { Index = 1 }, new DataValue(Variant.ArrayOf(new[] { "a", "b" }))).Value.Text);
        var missing = Decode(Of("keg.id"), Plain with { Index = 2 }, new DataValue(Variant.ArrayOf(new[] { "a", "b" })));
        Assert.Equal((Quality.Bad, "there is no element 2 in String[2]"), (missing.Quality, missing.Reason));
        Assert.Equal(Quality.Bad, Decode(Of("temperature.caustic"), Plain, new DataValue(Variant.ArrayOf(new[] { 1f }))).Quality);
    }

    [Theory]
    [InlineData(0x0000_0000, Quality.Good, null)]
    [InlineData(0x4090_0000, Quality.Uncertain, "the server says UncertainLastUsableValue")]
    [InlineData(0x8031_0000, Quality.Bad, "the server says BadNoCommunication")]
    [InlineData(0x8000_0000, Quality.Bad, "the server says 0x80000000")]
    public void The_severity_of_the_status_is_the_quality(uint status, Quality quality, string? reason) // OPC 10000-4, 7.39
    {
        var reading = Decode(Of("temperature.caustic"), Plain, new DataValue(60.0, new StatusCode(status)));
        Assert.Equal((quality, reason), (reading.Quality, reading.Reason));
        Assert.Equal(quality != Quality.Bad, !double.IsNaN(reading.Value.Number));
    }

    [Fact]
    public void What_cannot_be_the_signal_is_bad_and_says_why()
    {
        Assert.Equal("the value is of type String, not a number", Decode(Of("temperature.caustic"), Plain, new DataValue("hot")).Reason);
        Assert.Equal("the value is missing, not a number", Decode(Of("temperature.caustic"), Plain, default).Reason);
        Assert.Equal("the value is of type Double, not a text", Decode(Of("keg.id"), Plain, new DataValue(1.5)).Reason);
        Assert.Equal("the value is of type Float, which has no bits", Decode(Of("drain.dry"), Plain with { Bit = 0 }, new DataValue(1f)).Reason);
    }

    [Fact]
    public void A_whole_number_that_a_double_cannot_hold_is_uncertain()
    {
        Assert.Equal(Quality.Good, Decode(Of("counter.drain-valve"), Plain, new DataValue(1L << 53)).Quality);
        Assert.Equal(Quality.Uncertain, Decode(Of("counter.drain-valve"), Plain, new DataValue((1L << 53) + 1)).Quality);
    }

    private static TagReading Decode(Tag tag, OpcUaSource source, DataValue value) => ValueDecoder.Decode(tag, source, value);

    private static Tag Of(string name)
    {
        var definition = SignalCatalogue.Find(name)!;
        return new Tag { Signal = new Signal("w1", 1, name, definition.Unit, definition.Type), Group = 0, Source = Plain };
    }
}
