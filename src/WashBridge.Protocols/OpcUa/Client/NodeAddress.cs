namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>
/// A node as a person writes it down: by its id (<c>ns=2;s=Station1</c>), by its id with the namespace's URI (<c>nsu=urn:example:washer;s=Station1</c>),
/// which stays right when the server numbers its namespaces anew, or by a path of browse names from the root folder
/// (<c>/Objects/2:Washer/2:Temperature</c>; OPC 10000-4, annex A.2).
/// </summary>
/// <remarks>
/// In a path <c>/</c> follows hierarchical references and <c>.</c> aggregates, subtypes included. A name is qualified by a namespace index
/// (<c>2:Washer</c>) or a URI (<c>nsu=urn:example:washer;Washer</c>); without either it is of namespace 0. The characters <c>/ . &lt; &gt; : # ! &amp;</c>
/// within a name are written with a <c>&amp;</c> in front.
/// </remarks>
public sealed record NodeAddress
{
    private readonly string text;

    private NodeAddress(string text, NodeId node, string? namespaceUri, IReadOnlyList<PathStep>? path) =>
        (this.text, Node, NamespaceUri, Path) = (text, node, namespaceUri, path);

    /// <summary>Null id for a path. The namespace index counts only if there is no <see cref="NamespaceUri"/>.</summary>
    internal NodeId Node { get; }

    internal string? NamespaceUri { get; }

    internal IReadOnlyList<PathStep>? Path { get; }

    /// <summary>True if the address can change its meaning when the server numbers its namespaces anew.</summary>
    public bool DependsOnNamespaceIndex => Path is null
        ? NamespaceUri is null && Node.Namespace > 1
        : Path.Any(step => step.NamespaceUri is null && step.NamespaceIndex > 1);

    public static implicit operator NodeAddress(NodeId node) => new(node.ToString(), node, null, null);

    /// <exception cref="FormatException">Neither an id nor a path; the message says where and what is allowed.</exception>
    public static NodeAddress Parse(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        if (text is ['/' or '.', ..])
        {
            return new NodeAddress(text, default, null, PathParser.Parse(text));
        }

        if (!text.StartsWith("nsu=", StringComparison.Ordinal))
        {
            return NodeId.TryParse(text, out var plain) ? new NodeAddress(text, plain, null, null) : throw Wrong(text, "no node id");
        }

        // A URI may hold semicolons, an identifier too: the first that is followed by a kind of identifier separates them.
        for (var at = text.IndexOf(';', 4); at > 4; at = text.IndexOf(';', at + 1))
        {
            if (text.Length > at + 2 && text[at + 2] == '=' && NodeId.TryParse(text[(at + 1)..], out var node) && node.Namespace == 0)
            {
                return new NodeAddress(text, node, text[4..at], null);
            }
        }

        throw Wrong(text, "nsu= must be followed by a URI, a semicolon and an identifier");
    }

    public override string ToString() => text;

    public bool Equals(NodeAddress? other) => text == other?.text;

    public override int GetHashCode() => text.GetHashCode(StringComparison.Ordinal);

    private static FormatException Wrong(string text, string why) => new(
        $"\"{text}\" is no node address: {why}; allowed: ns=2;s=Name, ns=2;i=1234, nsu=urn:example:name;s=Name (also g= and b=), or a path like /Objects/2:Washer/2:Temperature");

    /// <summary>One step of a path: over a kind of reference to a browse name.</summary>
    internal readonly record struct PathStep(bool IsAggregate, ushort NamespaceIndex, string? NamespaceUri, string Name);
}
