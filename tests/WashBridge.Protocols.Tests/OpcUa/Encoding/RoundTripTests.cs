using CsCheck;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.Tests.OpcUa.Encoding;

/// <summary>What was encoded comes back, whatever it was; and what cannot be right is refused before memory is taken for it.</summary>
public sealed class RoundTripTests
{
    [Fact]
    public void Every_variant_comes_back() =>
        Generators.Variant.Sample(v => Again(v, static (w, e) => w.WriteVariant(e), static (ref UaReader r) => r.ReadVariant()).Equals(v), iter: 5_000);

    [Fact]
    public void Every_data_value_comes_back() =>
        Generators.Data.Sample(v => Again(v, static (w, e) => w.WriteDataValue(e), static (ref UaReader r) => r.ReadDataValue()).Equals(v), iter: 2_000);

    [Fact]
    public void Every_expanded_node_id_comes_back() =>
        Generators.ExpandedNode.Sample(v => Again(v, static (w, e) => w.WriteExpandedNodeId(e), static (ref UaReader r) => r.ReadExpandedNodeId()) == v);

    [Fact]
    public void Every_node_id_can_be_written_as_text_and_read_back() =>
        Generators.Node.Where(n => n.Kind != IdentifierType.String || n.Text!.Length > 0).Sample(n => NodeId.Parse(n.ToString()) == n);

    [Theory]
    [InlineData("")]
    [InlineData("s=")]
    [InlineData("i=-1")]
    [InlineData("i=4294967296")]
    [InlineData("ns=65536;i=1")]
    [InlineData("ns=1,i=1")]
    [InlineData("x=1")]
    [InlineData("g=1234")]
    [InlineData("b=*")]
    public void Text_that_is_no_node_id_is_refused_with_the_forms_that_are(string text) =>
        Assert.Contains("ns=2;s=Station1", Assert.Throws<FormatException>(() => NodeId.Parse(text)).Message, StringComparison.Ordinal);

    [Fact]
    public void A_message_cut_anywhere_is_refused() =>
        Gen.Select(Generators.Variant, Gen.Double.Unit).Where(t => !t.Item1.IsNull).Sample((variant, cut) =>
        {
            using var writer = new UaWriter();
            writer.WriteVariant(variant);
            var bytes = writer.Written[..(int)(cut * writer.Length)].ToArray();
            return Refusal(() =>
            {
                var reader = new UaReader(bytes, DecodingLimits.Default);
                reader.ReadVariant();
                reader.ExpectEnd();
            }) == StatusCodes.BadDecodingError;
        });

    [Fact]
    public void Values_nested_too_deep_are_refused()
    {
        var nested = (Variant)1;
        for (var i = 0; i < 101; i++)
        {
            nested = Variant.ArrayOf(new[] { nested });
        }

        Assert.Equal(StatusCodes.BadEncodingLimitsExceeded, Refusal(() => Again(nested, static (w, e) => w.WriteVariant(e), static (ref UaReader r) => r.ReadVariant())));
    }

    [Fact]
    public void A_length_that_the_message_cannot_hold_takes_no_memory()
    {
        byte[] bytes = [0x80 | (byte)BuiltInType.Double, 0x40, 0x42, 0x0F, 0x00]; // a million doubles, of which none follows
        var before = GC.GetAllocatedBytesForCurrentThread();
        Assert.Equal(StatusCodes.BadDecodingError, Refusal(() => new UaReader(bytes, DecodingLimits.Default).ReadVariant()));
        Assert.InRange(GC.GetAllocatedBytesForCurrentThread() - before, 0, 20_000);
    }

    [Fact]
    public void Small_messages_that_decode_to_much_memory_are_refused()
    {
        using var writer = new UaWriter();
        writer.WriteVariant(Variant.ArrayOf(new DataValue[20_000]));
        var bytes = writer.Written.ToArray();
        var limits = new DecodingLimits { MaxDecodedBytes = 1_000_000 };
        Assert.InRange(bytes.Length, 20_000, 20_010);
        Assert.Equal(StatusCodes.BadEncodingLimitsExceeded, Refusal(() => new UaReader(bytes, limits).ReadVariant()));
    }

    [Fact]
    public void Arrays_and_strings_beyond_the_limits_are_refused()
    {
        var limits = new DecodingLimits { MaxArrayLength = 10, MaxStringLength = 10 };
        Assert.Equal(StatusCodes.BadEncodingLimitsExceeded, Refusal(() => Again((Variant)"eleven char", static (w, e) => w.WriteVariant(e), static (ref UaReader r) => r.ReadVariant(), limits)));
        Assert.Equal(StatusCodes.BadEncodingLimitsExceeded, Refusal(() => Again(Variant.ArrayOf(new byte[11]), static (w, e) => w.WriteVariant(e), static (ref UaReader r) => r.ReadVariant(), limits)));
        Assert.Equal((Variant)"ten chars.", Again((Variant)"ten chars.", static (w, e) => w.WriteVariant(e), static (ref UaReader r) => r.ReadVariant(), limits));
    }

    [Fact]
    public void A_message_longer_than_allowed_is_not_encoded()
    {
        using var writer = new UaWriter(maxLength: 2_000);
        writer.WriteByteString(new byte[1_900]);
        Assert.Equal(StatusCodes.BadEncodingLimitsExceeded, Refusal(() => writer.WriteByteString(new byte[2_100])));
    }

    [Theory]
    [InlineData(0x0000_0000, true, false, false)]
    [InlineData(0x0000_0480, true, false, false)]
    [InlineData(0x4090_0000, false, true, false)]
    [InlineData(0x8034_0000, false, false, true)]
    [InlineData(0xC000_0000, false, false, true)]
    public void The_two_top_bits_of_a_status_are_its_severity(uint code, bool good, bool uncertain, bool bad) // OPC 10000-4, 7.39.1
    {
        var status = new StatusCode(code);
        Assert.Equal((good, uncertain, bad), (status.IsGood, status.IsUncertain, status.IsBad));
    }

    [Fact]
    public void The_overflow_bit_stands_beside_any_severity() // OPC 10000-4, 7.39.1, table 174
    {
        Assert.True(new StatusCode(0x0000_0480).HasOverflow);
        Assert.False(new StatusCode(0x0000_0080).HasOverflow); // without the info type "data value" the bit means nothing
        Assert.Equal(StatusCodes.UncertainLastUsableValue, StatusCodes.UncertainLastUsableValue.WithOverflow().Code);
    }

    private static T Again<T>(T value, WriteElement<T> write, ReadElement<T> read, DecodingLimits? limits = null)
    {
        using var writer = new UaWriter();
        write(writer, value);
        var reader = new UaReader(writer.Written, limits ?? DecodingLimits.Default);
        var again = read(ref reader);
        reader.ExpectEnd();
        return again;
    }

    private static StatusCode Refusal(Action action) => Assert.Throws<UaException>(action).Status;
}
