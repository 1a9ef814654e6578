using WashBridge.Configuration.Yaml;

namespace WashBridge.Configuration.Binding;

/// <summary>Finds names given twice in a list of mappings.</summary>
internal static class Unique
{
    public static void Check(YamlNode? list, string key, ProblemList problems)
    {
        var first = new Dictionary<string, int>();
        foreach (var node in (list as YamlList)?.Items.OfType<YamlMapping>().Select(m => m.Find(key)?.Value).OfType<YamlScalar>() ?? [])
        {
            if (!first.TryAdd(node.Text, node.Place.Line))
            {
                problems.Add(node, $"line {first[node.Text]} has the same {key}", $"each {key} once");
            }
        }
    }
}
