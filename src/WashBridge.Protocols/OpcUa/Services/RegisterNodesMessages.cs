using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.OpcUa.Services;

/// <summary>Announces nodes that will be used often (OPC 10000-4, 5.9.5).</summary>
public sealed record RegisterNodesRequest(IReadOnlyList<NodeId> Nodes) : IRequest<RegisterNodesRequest, RegisterNodesResponse>
{
    public static uint EncodingId => 560;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(Nodes, static (w, e) => w.WriteNodeId(e));
    }

    public static RegisterNodesRequest Read(ref UaReader reader) => new(
        reader.ReadArray(static (ref UaReader r) => r.ReadNodeId()));
}

/// <summary>Answer to <see cref="RegisterNodesRequest"/>: ids to use instead.</summary>
public sealed record RegisterNodesResponse(IReadOnlyList<NodeId> Nodes) : IEncodable<RegisterNodesResponse>
{
    public static uint EncodingId => 563;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(Nodes, static (w, e) => w.WriteNodeId(e));
    }

    public static RegisterNodesResponse Read(ref UaReader reader) => new(
        reader.ReadArray(static (ref UaReader r) => r.ReadNodeId()));
}

/// <summary>Takes the announcement back (OPC 10000-4, 5.9.6).</summary>
public sealed record UnregisterNodesRequest(IReadOnlyList<NodeId> Nodes) : IRequest<UnregisterNodesRequest, UnregisterNodesResponse>
{
    public static uint EncodingId => 566;

    public void Write(UaWriter writer)
    {
        writer.WriteArray(Nodes, static (w, e) => w.WriteNodeId(e));
    }

    public static UnregisterNodesRequest Read(ref UaReader reader) => new(
        reader.ReadArray(static (ref UaReader r) => r.ReadNodeId()));
}

/// <summary>Answer to <see cref="UnregisterNodesRequest"/>.</summary>
public sealed record UnregisterNodesResponse : IEncodable<UnregisterNodesResponse>
{
    public static uint EncodingId => 569;

    public void Write(UaWriter writer)
    {
    }

    public static UnregisterNodesResponse Read(ref UaReader reader) => new();
}
