using System.Text;
using WashBridge.Messaging;

namespace WashBridge.Tests.Messaging;

public sealed class SparkplugPayloadTests
{
    /// <summary>Byte by byte after the schema of Sparkplug 3.0.0, 6.4.1, and the encoding rules of Protocol Buffers (protobuf.dev, Encoding).</summary>
    [Fact]
    public void A_message_is_the_bytes_that_the_schema_asks_for()
    {
        var written = SparkplugPayload.Write(
            [
                new SparkplugMetric("a", 300, SparkplugType.Int32, -1, 5) { TellsType = true, Unit = "s" },
                new SparkplugMetric(null, 7, SparkplugType.Boolean, true, 6) { IsHistorical = true },
                new SparkplugMetric(null, 8, SparkplugType.Double, null, 6),
            ],
            timestamp: 1000,
            sequence: 255);
        byte[] expected =
        [
            0x08, 0xe8, 0x07, // 1, timestamp: 1000
            0x12, 0x22, // 2, metric of 34 bytes
            0x0a, 0x01, (byte)'a', // 1, name
            0x10, 0xac, 0x02, // 2, alias: 300
            0x18, 0x05, // 3, timestamp
            0x20, 0x03, // 4, datatype: Int32
            0x4a, 0x10, // 9, properties of 16 bytes
            0x0a, 0x07, (byte)'e', (byte)'n', (byte)'g', (byte)'U', (byte)'n', (byte)'i', (byte)'t', // 1, key
            0x12, 0x05, // 2, value of 5 bytes
            0x08, 0x0c, // 1, type: String
            0x42, 0x01, (byte)'s', // 8, string_value
            0x50, 0xff, 0xff, 0xff, 0xff, 0x0f, // 10, int_value: the two's complement of -1 in 32 bits
            0x12, 0x08, // 2, metric
            0x10, 0x07, 0x18, 0x06, 0x28, 0x01, // alias, timestamp, 5: is_historical
            0x70, 0x01, // 14, boolean_value
            0x12, 0x06,
            0x10, 0x08, 0x18, 0x06, 0x38, 0x01, // alias, timestamp, 7: is_null
            0x18, 0xff, 0x01, // 3, seq: 255
        ];
        Assert.Equal(Convert.ToHexString(expected), Convert.ToHexString(written));
    }

    [Fact]
    public void Whatever_arrives_as_a_command_is_at_most_ignored()
    {
        var random = new Random(5);
        var good = SparkplugPayload.Write([new SparkplugMetric(SparkplugCommand.Rebirth, null, SparkplugType.Boolean, true, 1)], 1, null);
        for (var i = 0; i < 20_000; i++)
        {
            var bytes = good.ToArray();
            for (var change = 0; change < random.Next(1, 4); change++)
            {
                bytes[random.Next(bytes.Length)] = (byte)random.Next(256);
            }

            SparkplugCommand.Read(bytes[..random.Next(bytes.Length + 1)]);
        }

        Assert.True(SparkplugCommand.Read(good)!.AsksForRebirth);
        Assert.False(SparkplugCommand.Read([])!.AsksForRebirth);
    }

    [Fact]
    public void Names_of_what_is_ignored_are_few_short_and_printable()
    {
        var hostile = SparkplugPayload.Write(Enumerable.Range(0, 100).Select(i => new SparkplugMetric($"line\nbreak {i}" + new string('x', 500), null, SparkplugType.Int64, 1L, 1)), 1, null);
        var command = SparkplugCommand.Read(hostile)!;
        Assert.Equal(SparkplugCommand.MostNames, command.Ignored.Count);
        Assert.All(command.Ignored, n => Assert.True(n.Length <= 80 && !n.Any(char.IsControl)));
        Assert.Equal(["alias 9"], SparkplugCommand.Read(SparkplugPayload.Write([new SparkplugMetric(null, 9, SparkplugType.Boolean, true, 1)], 1, null))!.Ignored);
    }

    [Theory]
    [InlineData("""{"online":true,"timestamp":5}""", true, true)]
    [InlineData("""{"online":false,"timestamp":5}""", true, false)]
    [InlineData("""{"online":"true","timestamp":5}""", false, false)]
    [InlineData("""{"online":true}""", false, false)]
    [InlineData("""{"online":true,"timestamp":5.5}""", false, false)]
    [InlineData("[]", false, false)]
    [InlineData("ONLINE", false, false)]
    [InlineData("", false, false)]
    public void A_hosts_state_is_what_the_specification_says_and_nothing_else(string text, bool isTaken, bool isOnline)
    {
        var host = new PrimaryHost();
        Assert.Equal((isTaken, isOnline), (host.Take(Encoding.UTF8.GetBytes(text)), host.IsOnline));
    }
}
