using System.Globalization;
using System.Text;

namespace WashBridge.Configuration;

/// <summary>
/// Nodes as people write them: node ids as in OPC 10000-6, 5.3.1.10 and .11 (<c>ns=2;s=Phase</c>, <c>nsu=urn:example:washer;s=Phase</c>), paths as in
/// OPC 10000-4, A.2 (<c>/2:Washers/2:Phase</c>). Where these have a namespace index, a name that the tag map gives to a namespace may stand.
/// </summary>
internal static class NodeAddressText
{
    /// <summary>What a path cannot hold without <c>&amp;</c> before it.</summary>
    private const string Reserved = "/.<>:#!&";

    private const string UriMark = "nsu=";

    public static string Write(NodeAddress address) => address switch
    {
        NodeIdAddress { Id: { NamespaceUri: { } uri } id } => $"{UriMark}{EscapeUri(uri)};{id.Node.Identifier}",
        NodeIdAddress { Id: var id } => id.Node.ToString(),
        BrowsePathAddress path => Write(path.Steps),
        _ => throw new ArgumentOutOfRangeException(nameof(address)),
    };

    /// <summary>One step as a path has it, without what separates it from the last.</summary>
    /// <param name="ns">The name or index of its namespace; empty: namespace 0.</param>
    public static string WriteStep(string ns, string name) => ns.Length == 0 ? EscapeName(name) : $"{ns}:{EscapeName(name)}";

    /// <summary><c>;</c> ends the URI, so it is written <c>%3B</c> in it, and <c>%</c> as <c>%25</c> (OPC 10000-6, 5.3.1.11).</summary>
    public static string EscapeUri(string uri) => uri.Replace("%", "%25", StringComparison.Ordinal).Replace(";", "%3B", StringComparison.Ordinal);

    public static string UnescapeUri(string text) =>
        text.Replace("%3B", ";", StringComparison.OrdinalIgnoreCase).Replace("%25", "%", StringComparison.Ordinal);

    /// <summary>Whether a character of a path's name needs <c>&amp;</c> before it.</summary>
    public static bool IsReserved(char character) => Reserved.Contains(character, StringComparison.Ordinal);

    /// <summary>For reading, not for parsing: a URI is told where it differs from that of the step before.</summary>
    private static string Write(IReadOnlyList<PathStep> steps)
    {
        var text = new StringBuilder();
        string? uri = null;
        foreach (var step in steps)
        {
            text.Append(step.IsAggregate ? '.' : '/');
            if (step.NamespaceUri is null)
            {
                text.Append(WriteStep(step.Namespace == 0 ? "" : step.Namespace.ToString(CultureInfo.InvariantCulture), step.Name));
            }
            else
            {
                text.Append(step.NamespaceUri == uri ? "" : $"{UriMark}{EscapeUri(step.NamespaceUri)};").Append(EscapeName(step.Name));
            }

            uri = step.NamespaceUri;
        }

        return text.ToString();
    }

    private static string EscapeName(string name)
    {
        var text = new StringBuilder(name.Length);
        foreach (var character in name)
        {
            text.Append(IsReserved(character) ? "&" : "").Append(character);
        }

        return text.ToString();
    }
}
