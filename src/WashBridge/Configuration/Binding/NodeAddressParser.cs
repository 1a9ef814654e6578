using System.Globalization;
using System.Text;
using WashBridge.Protocols.OpcUa;

namespace WashBridge.Configuration.Binding;

/// <summary>What a text came to: an address, or what is wrong with it.</summary>
internal readonly record struct ParsedNode(NodeAddress? Address, string Problem, string Allowed);

/// <summary>Reads the node of a tag.</summary>
/// <param name="namespaces">Names that the tag map gives to namespaces, with their URIs.</param>
internal sealed class NodeAddressParser(IReadOnlyDictionary<string, string> namespaces)
{
    public const int MaxSteps = 32;

    public const string Form = "a node id such as ns=w;s=Washer1.Phase or nsu=urn:example:washer;s=Washer1.Phase, or a path from the Objects folder such as /w:Washers/w:Washer1/w:Phase";

    private const string IdForm = "after the namespace: s= and a text, i= and a number, g= and a GUID, or b= and base64";

    public ParsedNode Parse(string text) =>
        text.StartsWith('/') ? ParsePath(text)
        : text.StartsWith("nsu=", StringComparison.Ordinal) ? ParseWithUri(text)
        : text.StartsWith("ns=", StringComparison.Ordinal) ? ParseWithNamespace(text)
        : ParseId(text, null, 0);

    private static ParsedNode ParseWithUri(string text)
    {
        var end = text.IndexOf(';', StringComparison.Ordinal);
        return end switch
        {
            < 0 => Wrong("the node id has a namespace and nothing behind it", "nsu=URI;s=TEXT"),
            4 => Wrong("the node id has an empty namespace URI", "nsu=URI;s=TEXT"),
            _ => ParseId(text[(end + 1)..], NodeAddressText.UnescapeUri(text[4..end]), 0),
        };
    }

    private ParsedNode ParseWithNamespace(string text)
    {
        var end = text.IndexOf(';', StringComparison.Ordinal);
        if (end < 0)
        {
            return Wrong("the node id has a namespace and nothing behind it", "ns=NAMESPACE;s=TEXT");
        }

        return FindNamespace(text[3..end], out var uri, out var index) is { } problem ? problem : ParseId(text[(end + 1)..], uri, index);
    }

    private static ParsedNode ParseId(string text, string? uri, ushort index)
    {
        if (text.StartsWith("ns", StringComparison.Ordinal) || !NodeId.TryParse(text, out var id))
        {
            return Wrong("this is no node id", text.Length > 1 && text[1] == '=' ? IdForm : Form);
        }

        if (id.IsNull && uri is null && index == 0)
        {
            return Wrong("this is the null node id, which stands for no node", Form);
        }

        var node = id.Kind switch
        {
            IdentifierType.Numeric => new NodeId(index, id.Number),
            IdentifierType.String => new NodeId(index, id.Text!),
            IdentifierType.Guid => new NodeId(index, id.Guid),
            _ => new NodeId(index, id.Opaque.ToArray()),
        };
        return new ParsedNode(new NodeIdAddress(new ExpandedNodeId(node, uri)), "", "");
    }

    private ParsedNode ParsePath(string text)
    {
        var steps = new List<PathStep>();
        for (var at = 0; at < text.Length;)
        {
            var (step, problem) = ParseStep(text, ref at);
            if (problem is { } wrong)
            {
                return wrong;
            }

            steps.Add(step!);
            if (steps.Count > MaxSteps)
            {
                return Wrong("the path is too long", $"at most {MaxSteps} steps");
            }
        }

        return new ParsedNode(new BrowsePathAddress(steps), "", "");
    }

    /// <summary>From a separator to the next.</summary>
    private (PathStep? Step, ParsedNode? Problem) ParseStep(string text, ref int at)
    {
        var isAggregate = text[at++] == '.';
        var name = new StringBuilder();
        string? prefix = null;
        for (; at < text.Length && text[at] is not ('/' or '.'); at++)
        {
            switch (text[at])
            {
                case '&' when at + 1 < text.Length && NodeAddressText.IsReserved(text[at + 1]):
                    name.Append(text[++at]);
                    break;
                case ':' when prefix is null:
                    prefix = name.ToString();
                    name.Clear();
                    break;
                case var reserved when NodeAddressText.IsReserved(reserved):
                    return (null, Wrong($"the character {reserved} has a meaning of its own in a path", $"&{reserved} where it belongs to a name"));
                case var character:
                    name.Append(character);
                    break;
            }
        }

        if (name.Length == 0)
        {
            return (null, Wrong("a step of the path has no name", "/NAMESPACE:NAME for each step, without a / at the end"));
        }

        // A dot within a name is what people write; the standard takes it as the way to a component.
        if (isAggregate && prefix is null)
        {
            return (null, Wrong($"a dot in a path leads to a component or property, and .{name} does not tell its namespace", $"&.{name} if the dot belongs to the name; .0:{name} for a property of the standard"));
        }

        return FindNamespace(prefix ?? "0", out var uri, out var index) is { } problem ? (null, problem) : (new PathStep(uri, index, name.ToString(), isAggregate), null);
    }

    private ParsedNode? FindNamespace(string text, out string? uri, out ushort index)
    {
        (uri, index) = (null, 0);
        if (namespaces.TryGetValue(text, out uri) || ushort.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out index))
        {
            return null;
        }

        var known = namespaces.Count == 0 ? "the tag map names none" : Scalars.OneOf(namespaces.Keys);
        return Wrong($"no namespace is called {text}{Suggestion.For(text, namespaces.Keys)}", $"a name given under namespaces ({known}), or an index from 0 to 65535; a colon or semicolon that belongs to a name is written &: in a path");
    }

    private static ParsedNode Wrong(string problem, string allowed) => new(null, problem, allowed);
}
