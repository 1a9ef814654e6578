using System.Buffers;
using System.Globalization;
using System.Text;
using CsCheck;
using WashBridge.Forwarding;

namespace WashBridge.Tests.Forwarding;

public sealed class LineProtocolTests
{
    /// <summary>
    /// Published examples: InfluxDB documentation (docs-v2), "Line protocol", section "Special characters". The first three carry no
    /// timestamp there; ours always does, so it stands behind the published text.
    /// </summary>
    [Fact]
    public void Published_examples_of_special_characters_are_written_to_the_byte()
    {
        Assert.Equal(
            """my\ Measurement fieldKey="string value" 1""",
            Line(new LinePoint().Start("my Measurement").Field("fieldKey", "string value"), 1));
        Assert.Equal(
            """myMeasurement fieldKey="\"string\" within a string" 1""",
            Line(new LinePoint().Start("myMeasurement").Field("fieldKey", "\"string\" within a string"), 1));
        Assert.Equal(
            """myMeasurement,tag\ Key1=tag\ Value1,tag\ Key2=tag\ Value2 fieldKey=100 1""",
            Line(new LinePoint().Start("myMeasurement").Tag("tag Key1", "tag Value1").Tag("tag Key2", "tag Value2").Field("fieldKey", 100.0), 1));
        Assert.Equal(
            """myMeasurement,tagKey=🍭 fieldKey="Launch 🚀" 1556813561098000000""",
            Line(new LinePoint().Start("myMeasurement").Tag("tagKey", "🍭").Field("fieldKey", "Launch 🚀"), 1556813561098000000));
    }

    /// <summary>Published examples: the same page, section "Data types and format". Its float there reads -1.234456e+78; the case of E is free.</summary>
    [Fact]
    public void Published_examples_of_numbers_are_written_to_the_byte()
    {
        Assert.Equal("myMeasurement fieldKey=1i 1", Line(new LinePoint().Start("myMeasurement").Field("fieldKey", 1), 1));
        Assert.Equal("myMeasurement fieldKey=-12485903i 1", Line(new LinePoint().Start("myMeasurement").Field("fieldKey", -12485903), 1));
        Assert.Equal("myMeasurement fieldKey=-1.234456E+78 1", Line(new LinePoint().Start("myMeasurement").Field("fieldKey", -1.234456e+78), 1));
    }

    /// <summary>The table of what is escaped where: the same page. The line was also produced by the JavaScript client of the same vendor, 1.35.0.</summary>
    [Fact]
    public void Every_special_character_is_escaped_where_it_is_special()
    {
        var point = new LinePoint().Start("a,b=c d").Tag("k,=", "v,= x").Field("f,= =", 12).Field("s", @"back\slash");
        Assert.Equal("""a\,b=c\ d,k\,\==v\,\=\ x f\,\=\ \==12i,s="back\\slash" 1""", Line(point, 1));
    }

    [Fact]
    public void Keys_are_in_ordinal_order_whatever_the_culture_and_the_order_of_calls()
    {
        var before = CultureInfo.CurrentCulture;
        try
        {
            var culture = (CultureInfo)CultureInfo.InvariantCulture.Clone();
            culture.NumberFormat = new NumberFormatInfo { NegativeSign = "minus ", NumberDecimalSeparator = "," };
            CultureInfo.CurrentCulture = culture;
            var point = new LinePoint().Start("m").Tag("a", "1").Tag("Z", "2").Tag("ä", "3").Tag("_", "4").Field("z", 1).Field("B", -2.5);
            Assert.Equal("m,Z=2,_=4,a=1,ä=3 B=-2.5,z=1i 7", Line(point, 7));
        }
        finally
        {
            CultureInfo.CurrentCulture = before;
        }
    }

    /// <summary>The 1.x servers refuse <c>7u</c>; a word of a register is a signed number here like any other.</summary>
    [Fact]
    public void Words_are_written_signed_and_flags_as_integers()
    {
        ushort word = 65535;
        Assert.Equal("m f=0i,g=1i,w=65535i 1", Line(new LinePoint().Start("m").Field("w", word).Field("f", false).Field("g", true), 1));
    }

    [Theory]
    [InlineData(double.NaN)]
    [InlineData(double.PositiveInfinity)]
    [InlineData(double.NegativeInfinity)]
    public void A_number_that_has_no_form_is_left_out_and_counted(double number)
    {
        var point = new LinePoint().Start("m").Field("bad", number).Field("good", 1.5);
        Assert.Equal(1, point.OmittedFields);
        Assert.Equal("m good=1.5 1", Line(point, 1));

        var alone = new LinePoint().Start("m").Field("bad", number);
        Assert.False(alone.WriteTo(new ArrayBufferWriter<byte>(), 1));
        Assert.Equal(1, alone.OmittedFields);
    }

    [Fact]
    public void A_point_that_is_used_again_remembers_nothing()
    {
        var point = new LinePoint().Start("m").Tag("t", "1").Field("bad", double.NaN).Field("f", 1);
        Line(point, 1);
        Assert.Equal("n g=2i 2", Line(point.Start("n").Field("g", 2), 2));
        Assert.Equal(0, point.OmittedFields);
    }

    [Fact]
    public void Tags_and_fields_without_a_value_are_not_written() =>
        Assert.Equal("m f=\"\" 1", Line(new LinePoint().Start("m").Tag("t", "").Tag("u", null).Field("f", "").Field("g", (string?)null).Field("h", (double?)null), 1));

    /// <summary>A line feed ends a line outside of quotes, and is an ordinary character within.</summary>
    [Fact]
    public void Text_keeps_line_feeds_and_quotes_and_backslashes() =>
        Assert.Equal("m s=\"a\nb\\\"c\\\\\" 1", Line(new LinePoint().Start("m").Field("s", "a\nb\"c\\"), 1));

    [Theory]
    [InlineData("#m", "t", "v", "f", "starts with '#'")]
    [InlineData("", "t", "v", "f", "a measurement is empty")]
    [InlineData("m\n", "t", "v", "f", "control character")]
    [InlineData("m", "t", "v\nw", "f", "control character")]
    [InlineData("m", "t", "v\r", "f", "control character")]
    [InlineData("m", "t\t", "v", "f", "control character")]
    [InlineData("m", "", "v", "f", "a tag key is empty")]
    [InlineData("m", "t", "v", "", "a field key is empty")]
    [InlineData("m", "t", @"v\", "f", "backslash")]
    [InlineData(@"m\", "t", "v", "f", "backslash")]
    [InlineData("m", @"t\", "v", "f", "backslash")]
    [InlineData("m", "t", "v", @"f\", "backslash")]
    [InlineData("m", "t", @"v\ w", "f", "backslash")]
    [InlineData("m", "t", @"v\=w", "f", "backslash")]
    [InlineData("m", "t", "v", "f\\\"", "backslash")]
    public void What_cannot_be_expressed_is_refused_and_never_sent_as_something_else(string measurement, string tag, string value, string field, string complaint)
    {
        var point = new LinePoint().Start(measurement).Tag(tag, value).Field(field, 1);
        var refused = Assert.Throws<LineProtocolException>(() => point.WriteTo(new ArrayBufferWriter<byte>(), 1));
        Assert.Contains(complaint, refused.Message, StringComparison.Ordinal);
    }

    /// <summary>Any other backslash is an ordinary character, and is not doubled: the server would keep both.</summary>
    [Fact]
    public void A_backslash_in_the_middle_of_a_tag_stands_for_itself() =>
        Assert.Equal(@"m,t=a\b f=1i 1", Line(new LinePoint().Start("m").Tag("t", @"a\b").Field("f", 1), 1));

    [Fact]
    public void Every_finite_double_and_every_long_reads_back_as_itself()
    {
        Gen.Double.Where(double.IsFinite).Sample(d =>
            BitConverter.DoubleToInt64Bits(double.Parse(Line(new LinePoint().Start("m").Field("f", d), 1)[4..^2], CultureInfo.InvariantCulture)) == BitConverter.DoubleToInt64Bits(d));
        Gen.Long.Sample(l => Line(new LinePoint().Start("m").Field("f", l), l) == $"m f={l}i {l}");
    }

    private static string Line(LinePoint point, long time)
    {
        var output = new ArrayBufferWriter<byte>();
        Assert.True(point.WriteTo(output, time));
        var text = Encoding.UTF8.GetString(output.WrittenSpan);
        Assert.EndsWith("\n", text, StringComparison.Ordinal);
        return text[..^1];
    }
}
