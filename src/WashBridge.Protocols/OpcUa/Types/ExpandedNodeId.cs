namespace WashBridge.Protocols.OpcUa;

/// <summary>A node id that may name its namespace by URI and may lie in another server (OPC 10000-4, 7.16).</summary>
/// <param name="NamespaceUri">Where present, it counts instead of the index in <paramref name="Node"/>.</param>
/// <param name="ServerIndex">0: the server that told it.</param>
public readonly record struct ExpandedNodeId(NodeId Node, string? NamespaceUri = null, uint ServerIndex = 0)
{
    public static implicit operator ExpandedNodeId(NodeId node) => new(node);

    public override string ToString() => (ServerIndex, NamespaceUri) switch
    {
        (0, null) => Node.ToString(),
        (0, _) => $"nsu={NamespaceUri};{Node.Identifier}",
        (_, null) => $"svr={ServerIndex};{Node}",
        _ => $"svr={ServerIndex};nsu={NamespaceUri};{Node.Identifier}",
    };
}
