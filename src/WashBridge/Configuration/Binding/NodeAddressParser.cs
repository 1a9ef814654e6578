using System.Globalization;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;

namespace WashBridge.Configuration.Binding;

/// <summary>What a text came to: an address, or what is wrong with it and what is allowed.</summary>
internal readonly record struct ParsedNode(NodeAddress? Address, string Problem, string Allowed)
{
    public static ParsedNode Wrong(string problem, string allowed) => new(null, problem, allowed);
}

/// <summary>
/// Reads the node of a tag: a node id as in OPC 10000-6, 5.3.1.10 and .11, or a path of browse names from the Objects folder. Where these have a namespace
/// index, a name that the tag map gives to a namespace may stand: it becomes the URI, which survives a restart of the server, while a server may number
/// its namespaces anew (OPC 10000-3, 8.2.2).
/// </summary>
/// <param name="namespaces">Names that the tag map gives to namespaces, with their URIs.</param>
internal sealed class NodeAddressParser(IReadOnlyDictionary<string, string> namespaces)
{
    public const string Form = "a node id such as ns=w;s=Washer1.Phase or nsu=urn:example:washer;s=Washer1.Phase, or a path from the Objects folder such as /w:Washers/w:Washer1/w:Phase";

    private const string IdForm = "after the namespace: s= and a text, i= and a number, g= and a GUID, or b= and base64";

    public ParsedNode Parse(string text) =>
        text.StartsWith('/') ? ParsePath(text)
        : text.StartsWith("nsu=", StringComparison.Ordinal) ? ParseWithUri(text)
        : text.StartsWith("ns=", StringComparison.Ordinal) ? ParseWithNamespace(text)
        : ParseId(text, "");

    private static ParsedNode ParseWithUri(string text)
    {
        var end = text.IndexOf(';', StringComparison.Ordinal);
        return end switch
        {
            < 0 => ParsedNode.Wrong("the node id has a namespace and nothing behind it", "nsu=URI;s=TEXT"),
            4 => ParsedNode.Wrong("the node id has an empty namespace URI", "nsu=URI;s=TEXT"),
            _ => ParseId(text[(end + 1)..], text[..(end + 1)]),
        };
    }

    private ParsedNode ParseWithNamespace(string text)
    {
        var end = text.IndexOf(';', StringComparison.Ordinal);
        if (end < 0)
        {
            return ParsedNode.Wrong("the node id has a namespace and nothing behind it", "ns=NAMESPACE;s=TEXT");
        }

        var (uri, index, problem) = FindNamespace(text[3..end]);
        return problem ?? ParseId(text[(end + 1)..], uri is null ? $"ns={index};" : $"nsu={uri};");
    }

    private static ParsedNode ParseId(string identifier, string ns)
    {
        if (identifier.StartsWith("ns", StringComparison.Ordinal) || !NodeId.TryParse(identifier, out var id))
        {
            return ParsedNode.Wrong("this is no node id", identifier is [_, '=', ..] ? IdForm : Form);
        }

        return id.IsNull && ns is "" or "ns=0;"
            ? ParsedNode.Wrong("this is the null node id, which stands for no node", Form)
            : Take(ns + identifier);
    }

    /// <summary>The library has the last word.</summary>
    private static ParsedNode Take(string text)
    {
        try
        {
            return new ParsedNode(NodeAddress.Parse(text), "", "");
        }
        catch (FormatException e)
        {
            return ParsedNode.Wrong(e.Message, Form);
        }
    }

    private ParsedNode ParsePath(string text)
    {
        var (steps, wrong) = NodePathParser.Parse(text);
        if (wrong is { } problem)
        {
            return problem;
        }

        // People copy paths that begin at the root, too: the Objects folder holds no other of that name.
        var path = steps[0] is { Namespace: "" or "0", Name: "Objects" } ? "" : "/Objects";
        foreach (var step in steps)
        {
            var (uri, index, unknown) = step.Namespace.Length == 0 ? (null, 0, null) : FindNamespace(step.Namespace);
            if (unknown is { } missing)
            {
                return missing;
            }

            var ns = uri is not null ? $"nsu={uri};" : index > 0 ? string.Create(CultureInfo.InvariantCulture, $"{index}:") : "";
            path += $"{(step.IsAggregate ? '.' : '/')}{ns}{step.Name}";
        }

        return Take(path);
    }

    private (string? Uri, int Index, ParsedNode? Problem) FindNamespace(string text)
    {
        if (text.StartsWith(NodePathParser.UriMark, StringComparison.Ordinal))
        {
            return (text[NodePathParser.UriMark.Length..], 0, null);
        }

        if (namespaces.TryGetValue(text, out var uri))
        {
            return (uri, 0, null);
        }

        if (ushort.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out var index))
        {
            return (null, index, null);
        }

        var known = namespaces.Count == 0 ? "the tag map names none" : Scalars.OneOf(namespaces.Keys);
        return (null, 0, ParsedNode.Wrong($"no namespace is called {text}{Suggestion.For(text, namespaces.Keys)}", $"a name given under namespaces ({known}), or an index from 0 to 65535"));
    }
}
