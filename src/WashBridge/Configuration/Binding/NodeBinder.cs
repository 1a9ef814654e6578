using System.Text.RegularExpressions;

namespace WashBridge.Configuration.Binding;

/// <summary>The part of a tag that tells which node of an OPC UA server it is.</summary>
internal static partial class NodeBinder
{
    public const int MaxNamespaces = 50;
    public const int MaxIndex = 65_535;
    public const int MaxBit = 63;
    public const int LeastQueue = 2;
    public const int MostQueue = 1_000;

    private static readonly TextForm Node = new(NodePattern(), NodeAddressParser.Form);
    private static readonly TextForm Uri = new(UriPattern(), "a namespace URI such as urn:example:washer, without blanks and semicolons");

    public static OpcUaSource? Bind(MapBinder map, NodeAddressParser parser)
    {
        var before = map.Problems.Count;
        var text = map.Text("node", Node);
        var index = map.OptionalInteger("index", 0, MaxIndex);
        var bit = map.OptionalInteger("bit", 0, MaxBit);
        var queue = map.Integer("queue", LeastQueue, MostQueue, OpcUaSource.StandardQueue);
        if (text.Length == 0)
        {
            return null;
        }

        var parsed = parser.Parse(text);
        if (parsed.Address is null)
        {
            map.Problems.Add(map.Node.Find("node")!.Value, parsed.Problem, parsed.Allowed);
        }

        return map.Problems.Count > before ? null : new OpcUaSource(parsed.Address!, index, bit, queue) { Written = text };
    }

    /// <summary>Short names for namespaces, which the nodes of the map use.</summary>
    public static NodeAddressParser BindNamespaces(MapBinder map)
    {
        var namespaces = new Dictionary<string, string>();
        foreach (var entry in map.OptionalMap("namespaces")?.Node.Entries ?? [])
        {
            if (!AliasPattern().IsMatch(entry.Key.Text))
            {
                map.Problems.Add(entry.Key.Place with { Field = entry.Value.Place.Field }, "this is no short name for a namespace", $"\"{entry.Key.Text}\"", "a letter, then up to 39 letters, digits, hyphens or underscores");
            }

            // A name whose URI is wrong still counts, so that the nodes that use it are not reported too.
            namespaces[entry.Key.Text] = Scalars.Text(entry.Value, Uri, map.Problems) ?? "urn:unknown";
        }

        if (namespaces.Count > MaxNamespaces)
        {
            map.Problems.Add(map.PlaceOf("namespaces"), "there are too many namespaces", $"{namespaces.Count}", $"at most {MaxNamespaces}");
        }

        return new NodeAddressParser(namespaces);
    }

    [GeneratedRegex(@"^[^\x00-\x1f\x7f]{1,2000}\z")]
    private static partial Regex NodePattern();

    [GeneratedRegex(@"^[^\s;]{1,500}\z")]
    private static partial Regex UriPattern();

    [GeneratedRegex(@"^[A-Za-z][A-Za-z0-9_-]{0,39}\z")]
    private static partial Regex AliasPattern();
}
