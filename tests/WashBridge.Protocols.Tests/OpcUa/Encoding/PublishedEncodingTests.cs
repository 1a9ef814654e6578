using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.Tests.Modbus;

namespace WashBridge.Protocols.Tests.OpcUa.Encoding;

/// <summary>Byte for byte what OPC 10000-6 shows in its examples, and what follows from its rules.</summary>
public sealed class PublishedEncodingTests
{
    [Fact]
    public void Integers_are_little_endian() => // OPC 10000-6, 5.2.2.2, figure 2
        Check("00 CA 9A 3B", 1_000_000_000, static (w, v) => w.WriteInt32(v), static (ref UaReader r) => r.ReadInt32());

    [Fact]
    public void Floats_are_IEEE_754_little_endian() => // OPC 10000-6, 5.2.2.3, figure 3
        Check("00 00 D0 C0", -6.5f, static (w, v) => w.WriteSingle(v), static (ref UaReader r) => r.ReadSingle());

    [Theory]
    [InlineData("06 00 00 00 E6 B0 B4 42 6F 79", "水Boy")] // OPC 10000-6, 5.2.2.4, figure 4
    [InlineData("FF FF FF FF", null)]
    [InlineData("00 00 00 00", "")]
    public void Strings_are_counted_UTF_8(string bytes, string? text) => Check(bytes, text, static (w, v) => w.WriteString(v), static (ref UaReader r) => r.ReadString());

    [Fact]
    public void The_first_three_parts_of_a_guid_are_little_endian() => // OPC 10000-6, 5.2.2.6
        Check("91 2B 96 72 75 FA E6 4A 8D 28 B4 04 DC 7D AF 63", Guid.Parse("72962B91-FA75-4AE6-8D28-B404DC7DAF63"), static (w, v) => w.WriteGuid(v), static (ref UaReader r) => r.ReadGuid());

    [Theory]
    [InlineData("03 01 00 06 00 00 00 48 6F 74 E6 B0 B4", "ns=1;s=Hot水")] // OPC 10000-6, 5.2.2.9, figure 7
    [InlineData("00 48", "i=72")] // the two byte form, figure 8
    [InlineData("01 05 01 04", "ns=5;i=1025")] // the four byte form, figure 9
    [InlineData("00 FF", "i=255")] // from here on by the rules of table 16
    [InlineData("01 00 00 01", "i=256")]
    [InlineData("02 00 00 00 00 01 00", "i=65536")]
    [InlineData("02 2C 01 70 11 01 00", "ns=300;i=70000")]
    public void Node_ids_take_their_shortest_form(string bytes, string node) =>
        Check(bytes, NodeId.Parse(node), static (w, v) => w.WriteNodeId(v), static (ref UaReader r) => r.ReadNodeId());

    [Fact]
    public void Beside_a_namespace_uri_the_index_is_written_as_0() // OPC 10000-6, 5.2.2.10
    {
        using var writer = new UaWriter();
        writer.WriteExpandedNodeId(new ExpandedNodeId(new NodeId(5, 1025), "u", 9));
        Assert.Equal("C1 00 01 04 01 00 00 00 75 09 00 00 00", Hex.Text(writer.Written));
    }

    [Theory]
    [InlineData("00 00 00 00 00 00 00 00", "0001-01-01T00:00:00Z")] // OPC 10000-6, 5.2.2.5: the earliest time is 0
    [InlineData("00 80 3E D5 DE B1 9D 01", "1970-01-01T00:00:00Z")] // 116,444,736,000,000,000 ticks since 1601
    [InlineData("00 40 6D 25 EB 53 BF 01", "2000-01-01T00:00:00Z")]
    [InlineData("00 00 05 69 36 C0 D5 01", "2020-01-01T00:00:00Z")]
    [InlineData("50 7C E6 B3 0B 6B DA 01", "2024-02-29T12:34:56.789Z")]
    public void Times_are_ticks_of_100_ns_since_1601(string bytes, string time) =>
        Check(bytes, DateTime.Parse(time, null, System.Globalization.DateTimeStyles.RoundtripKind), static (w, v) => w.WriteDateTime(v), static (ref UaReader r) => r.ReadDateTime());

    [Fact]
    public void Xml_is_a_string() => // OPC 10000-6, 5.2.2.8, figure 6
        Check("0D 00 00 00 3C 41 3E 48 6F 74 E6 B0 B4 3C 2F 41 3E", new XmlElement("<A>Hot水</A>"), static (w, v) => w.WriteXmlElement(v), static (ref UaReader r) => r.ReadXmlElement());

    [Fact]
    public void Status_codes_are_unsigned_integers() => // OPC 10000-6, 5.2.2.11; the value from its annex A.2
        Check("00 00 05 80", StatusCodes.BadCommunicationError, static (w, v) => w.WriteStatusCode(v), static (ref UaReader r) => r.ReadStatusCode());

    [Fact]
    public void The_last_time_stands_for_all_that_is_later() => // OPC 10000-6, 5.2.2.5
        Check("FF FF FF FF FF FF FF 7F", DateTime.SpecifyKind(DateTime.MaxValue, DateTimeKind.Utc), static (w, v) => w.WriteDateTime(v), static (ref UaReader r) => r.ReadDateTime());

    private static void Check<T>(string bytes, T value, WriteElement<T> write, ReadElement<T> read)
    {
        using var writer = new UaWriter();
        write(writer, value);
        Assert.Equal(bytes, Hex.Text(writer.Written));
        var reader = new UaReader(Hex.Bytes(bytes), DecodingLimits.Default);
        Assert.Equal(value, read(ref reader));
        reader.ExpectEnd();
    }
}
