using System.Collections.Immutable;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>The server's namespaces (Server_NamespaceArray; OPC 10000-5, 6.3.1). Their indexes may change when the server restarts.</summary>
public sealed class NamespaceTable(ImmutableArray<string?> uris)
{
    public ImmutableArray<string?> Uris => uris;

    /// <summary>-1: the server has no such namespace.</summary>
    public int IndexOf(string uri) => uris.IndexOf(uri);

    /// <summary>Null for an index that the server has not.</summary>
    public string? UriOf(ushort index) => index < uris.Length ? uris[index] : null;

    /// <summary>False: the namespace is not known to this server, or the node lies in another server.</summary>
    public bool TryResolve(in ExpandedNodeId id, out NodeId node)
    {
        node = id.Node;
        if (id.ServerIndex != 0)
        {
            return false;
        }

        if (id.NamespaceUri is not { Length: > 0 } uri)
        {
            return true;
        }

        var index = IndexOf(uri);
        if (index is < 0 or > ushort.MaxValue)
        {
            return false;
        }

        node = id.Node.InNamespace((ushort)index);
        return true;
    }

    /// <summary>The same node so that it stays right when indexes change: <c>nsu=urn:example:washer;s=Station1</c>. Namespace 0 needs no URI.</summary>
    public string Portable(NodeId node) => node.Namespace != 0 && UriOf(node.Namespace) is { } uri ? $"nsu={uri};{node.Identifier}" : node.ToString();
}

internal static class NodeIdExtensions
{
    public static NodeId InNamespace(this NodeId node, ushort index) => node.Kind switch
    {
        IdentifierType.Numeric => new NodeId(index, node.Number),
        IdentifierType.String => new NodeId(index, node.Text ?? ""),
        IdentifierType.Guid => new NodeId(index, node.Guid),
        _ => new NodeId(index, node.Opaque.ToArray()),
    };
}
