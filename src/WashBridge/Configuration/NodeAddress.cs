using WashBridge.Protocols.OpcUa;

namespace WashBridge.Configuration;

/// <summary>
/// A node of a server as a tag map names it. Namespaces are given by URI, which survives restarts, or by index, which a server may
/// give out anew whenever it starts (OPC 10000-3, 8.2.2): either becomes an index only once a session knows the server's namespaces.
/// </summary>
internal abstract record NodeAddress;

/// <summary>A node id. Where it has a <see cref="ExpandedNodeId.NamespaceUri"/>, the index in it means nothing.</summary>
internal sealed record NodeIdAddress(ExpandedNodeId Id) : NodeAddress
{
    public override string ToString() => NodeAddressText.Write(this);
}

/// <summary>A path of browse names from the Objects folder.</summary>
internal sealed record BrowsePathAddress(IReadOnlyList<PathStep> Steps) : NodeAddress
{
    public bool Equals(BrowsePathAddress? other) => other is not null && Steps.SequenceEqual(other.Steps);

    public override int GetHashCode() => Steps.Aggregate(Steps.Count, HashCode.Combine);

    public override string ToString() => NodeAddressText.Write(this);
}

/// <summary>One step of a path.</summary>
/// <param name="NamespaceUri">Null: by index.</param>
/// <param name="Namespace">0 where there is a URI.</param>
/// <param name="Name">The browse name behind the namespace.</param>
/// <param name="IsAggregate">By an Aggregates reference only (HasComponent, HasProperty ...); else by any hierarchical one.</param>
internal sealed record PathStep(string? NamespaceUri, ushort Namespace, string Name, bool IsAggregate = false);
