using System.Text.RegularExpressions;
using WashBridge.Configuration.Yaml;

namespace WashBridge.Configuration.Binding;

/// <summary>Finds where a field of a record, named as <c>requirements[2].from.phase</c>, stands in the file it was read from.</summary>
internal static partial class FieldPath
{
    /// <summary>The field's place, or that of the nearest thing around it that is in the file.</summary>
    public static Place Find(YamlNode root, string path)
    {
        var node = root;
        foreach (Match part in Parts().Matches(path))
        {
            var next = (node, part.Groups["index"]) switch
            {
                (YamlList list, { Success: true } index) when int.Parse(index.ValueSpan) is var i && i < list.Items.Count => list.Items[i],
                (YamlMapping map, { Success: false }) => KeysOf(part.Value).Select(k => map.Find(k)?.Value).FirstOrDefault(n => n is not null),
                _ => null,
            };
            if (next is null)
            {
                break;
            }

            node = next;
        }

        return node.Place;
    }

    /// <summary>The keys that a field can come from.</summary>
    private static string[] KeysOf(string field) => field == "value" ? ["above", "below"] : [Upper().Replace(field, m => "-" + m.Value.ToLowerInvariant())];

    [GeneratedRegex(@"\[(?<index>[0-9]+)\]|[A-Za-z]+")]
    private static partial Regex Parts();

    [GeneratedRegex("[A-Z]")]
    private static partial Regex Upper();
}
