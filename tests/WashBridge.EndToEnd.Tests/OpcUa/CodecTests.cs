using System.Text.Json.Nodes;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.Tests.OpcUa;

namespace WashBridge.EndToEnd.Tests.OpcUa;

/// <summary>
/// Our encoding against node-opcua's, with random values of every built-in type (OPC 10000-6, 5.2): the library reads what we write, as the
/// same value; from that value it writes the same bytes; and we read those again.
/// </summary>
public sealed class CodecTests(ITestOutputHelper log)
{
    private const int ValuesOfAType = 400;
    private static readonly BuiltInType[] Types = [.. Enum.GetValues<BuiltInType>().Where(type => type != BuiltInType.Null)];

    [Fact]
    public async Task For_every_built_in_type_we_read_and_write_what_the_library_writes_and_reads()
    {
        var seed = Environment.TickCount;
        log.WriteLine($"seed {seed}");
        var random = new RandomValues(seed);
        await using var codec = await OpcUaPeerCodec.StartAsync();
        foreach (var type in Types)
        {
            object[] values = [.. Enumerable.Range(0, type == BuiltInType.Variant ? 10 * ValuesOfAType : ValuesOfAType).Select(_ => random.Value(type, depth: 3))];
            byte[][] ours = [.. values.Select(value => Encode(type, value))];
            JsonNode?[] plain = [.. values.Select(PlainValues.Of)];
            var decoded = await codec.DecodeAsync(type.ToString(), ours);
            var theirs = await codec.EncodeAsync(type.ToString(), plain);
            for (var i = 0; i < values.Length; i++)
            {
                var what = $"seed {seed}, {type} {i}: {plain[i]?.ToJsonString()} as {Convert.ToHexStringLower(ours[i])}";
                Assert.True(JsonNode.DeepEquals(plain[i], decoded[i]), $"{what}: read by the library as {decoded[i]?.ToJsonString()}");
                Assert.True(Convert.ToHexStringLower(ours[i]) == theirs[i]?.ToString(), $"{what}: written by the library as {theirs[i]?.ToJsonString()}");
                var again = Decode(type, Convert.FromHexString(theirs[i]!.ToString()));
                Assert.True(JsonNode.DeepEquals(plain[i], PlainValues.Of(again)), $"{what}: read again as {PlainValues.Of(again)?.ToJsonString()}");
                Assert.True(Equal(values[i], again), $"{what}: read again as something not equal");
            }
        }
    }

    private static bool Equal(object mine, object? theirs) => mine is byte[] bytes ? bytes.AsSpan().SequenceEqual((byte[]?)theirs) : mine.Equals(theirs);

    private static byte[] Encode(BuiltInType type, object value)
    {
        using var writer = new UaWriter();
        switch (type)
        {
            case BuiltInType.Boolean: writer.WriteBoolean((bool)value); break;
            case BuiltInType.SByte: writer.WriteSByte((sbyte)value); break;
            case BuiltInType.Byte: writer.WriteByte((byte)value); break;
            case BuiltInType.Int16: writer.WriteInt16((short)value); break;
            case BuiltInType.UInt16: writer.WriteUInt16((ushort)value); break;
            case BuiltInType.Int32: writer.WriteInt32((int)value); break;
            case BuiltInType.UInt32: writer.WriteUInt32((uint)value); break;
            case BuiltInType.Int64: writer.WriteInt64((long)value); break;
            case BuiltInType.UInt64: writer.WriteUInt64((ulong)value); break;
            case BuiltInType.Float: writer.WriteSingle((float)value); break;
            case BuiltInType.Double: writer.WriteDouble((double)value); break;
            case BuiltInType.String: writer.WriteString((string)value); break;
            case BuiltInType.DateTime: writer.WriteDateTime((DateTime)value); break;
            case BuiltInType.Guid: writer.WriteGuid((Guid)value); break;
            case BuiltInType.ByteString: writer.WriteByteString((byte[])value); break;
            case BuiltInType.XmlElement: writer.WriteXmlElement((XmlElement)value); break;
            case BuiltInType.NodeId: writer.WriteNodeId((NodeId)value); break;
            case BuiltInType.ExpandedNodeId: writer.WriteExpandedNodeId((ExpandedNodeId)value); break;
            case BuiltInType.StatusCode: writer.WriteStatusCode((StatusCode)value); break;
            case BuiltInType.QualifiedName: writer.WriteQualifiedName((QualifiedName)value); break;
            case BuiltInType.LocalizedText: writer.WriteLocalizedText((LocalizedText)value); break;
            case BuiltInType.ExtensionObject: writer.WriteExtensionObject((ExtensionObject)value); break;
            case BuiltInType.DataValue: writer.WriteDataValue((DataValue)value); break;
            case BuiltInType.DiagnosticInfo: writer.WriteDiagnosticInfo((DiagnosticInfo)value); break;
            default: writer.WriteVariant((Variant)value); break;
        }

        return writer.Written.ToArray();
    }

    private static object? Decode(BuiltInType type, byte[] bytes)
    {
        var reader = new UaReader(bytes, DecodingLimits.Default);
        object? value = type switch
        {
            BuiltInType.Boolean => reader.ReadBoolean(),
            BuiltInType.SByte => reader.ReadSByte(),
            BuiltInType.Byte => reader.ReadByte(),
            BuiltInType.Int16 => reader.ReadInt16(),
            BuiltInType.UInt16 => reader.ReadUInt16(),
            BuiltInType.Int32 => reader.ReadInt32(),
            BuiltInType.UInt32 => reader.ReadUInt32(),
            BuiltInType.Int64 => reader.ReadInt64(),
            BuiltInType.UInt64 => reader.ReadUInt64(),
            BuiltInType.Float => reader.ReadSingle(),
            BuiltInType.Double => reader.ReadDouble(),
            BuiltInType.String => reader.ReadString(),
            BuiltInType.DateTime => reader.ReadDateTime(),
            BuiltInType.Guid => reader.ReadGuid(),
            BuiltInType.ByteString => reader.ReadByteString(),
            BuiltInType.XmlElement => reader.ReadXmlElement(),
            BuiltInType.NodeId => reader.ReadNodeId(),
            BuiltInType.ExpandedNodeId => reader.ReadExpandedNodeId(),
            BuiltInType.StatusCode => reader.ReadStatusCode(),
            BuiltInType.QualifiedName => reader.ReadQualifiedName(),
            BuiltInType.LocalizedText => reader.ReadLocalizedText(),
            BuiltInType.ExtensionObject => reader.ReadExtensionObject(),
            BuiltInType.DataValue => reader.ReadDataValue(),
            BuiltInType.DiagnosticInfo => reader.ReadDiagnosticInfo(),
            _ => reader.ReadVariant(),
        };
        reader.ExpectEnd();
        return value;
    }
}
