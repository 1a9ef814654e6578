using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.OpcUa.Services;

/// <summary>Which times are wanted with values (OPC 10000-4, 7.40).</summary>
public enum TimestampsToReturn
{
    Source = 0,
    Server = 1,
    Both = 2,
    Neither = 3,
}

/// <summary>An attribute of a node (OPC 10000-4, 7.29).</summary>
/// <param name="AttributeId">See <see cref="AttributeIds"/>.</param>
/// <param name="IndexRange">Elements of an array; null: all.</param>
public readonly record struct ReadValueId(NodeId NodeId, uint AttributeId, string? IndexRange, QualifiedName DataEncoding) : IStructure<ReadValueId>
{
    public void Write(UaWriter writer)
    {
        writer.WriteNodeId(NodeId);
        writer.WriteUInt32(AttributeId);
        writer.WriteString(IndexRange);
        writer.WriteQualifiedName(DataEncoding);
    }

    public static ReadValueId Read(ref UaReader reader) => new(
        reader.ReadNodeId(),
        reader.ReadUInt32(),
        reader.ReadString(),
        reader.ReadQualifiedName());
}

/// <summary>Reads attributes (OPC 10000-4, 5.11.2).</summary>
/// <param name="MaxAge">Milliseconds that a cached value may be old; 0: read anew.</param>
public sealed record ReadRequest(double MaxAge, TimestampsToReturn Timestamps, IReadOnlyList<ReadValueId> Nodes) : IRequest<ReadRequest, ReadResponse>
{
    public static uint EncodingId => 631;

    public void Write(UaWriter writer)
    {
        writer.WriteDouble(MaxAge);
        writer.WriteInt32((int)Timestamps);
        writer.WriteArray(Nodes);
    }

    public static ReadRequest Read(ref UaReader reader) => new(
        reader.ReadDouble(),
        (TimestampsToReturn)reader.ReadInt32(),
        reader.ReadArray<ReadValueId>());
}

/// <summary>Answer to <see cref="ReadRequest"/>.</summary>
public sealed record ReadResponse(IReadOnlyList<DataValue> Results) : IEncodable<ReadResponse>
{
    public static uint EncodingId => 634;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(Results, static (w, e) => w.WriteDataValue(e));
        writer.WriteInt32(0); // diagnostics
    }

    public static ReadResponse Read(ref UaReader reader)
    {
        var message = new ReadResponse(
            reader.ReadArray(static (ref UaReader r) => r.ReadDataValue()));
        reader.SkipDiagnostics();
        return message;
    }
}
