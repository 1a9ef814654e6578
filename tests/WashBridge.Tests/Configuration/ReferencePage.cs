using System.Text;
using System.Text.Json.Nodes;
using WashBridge.Core.Signals;

namespace WashBridge.Tests.Configuration;

/// <summary>Writes the reference of all keys from the schemas, and of all signals from the catalogue.</summary>
internal static class ReferencePage
{
    public static string Write(string introduction)
    {
        var page = new StringBuilder(introduction);
        foreach (var name in Schemas.Names)
        {
            var schema = Schemas.Text(name);
            page.Append($"\n## {Text(schema, "title")}\n\n{Text(schema, "description")}\nSchema: [{name}.schema.json](schema/{name}.schema.json).\n\n");
            if (schema["properties"] is not null)
            {
                Heading(page);
                Rows(page, schema, "", schema);
            }

            foreach (var kind in Alternatives(schema, schema))
            {
                page.Append($"\n### {Text(kind, "title")}\n\n{Text(kind, "description")}\n\n");
                Heading(page);
                Rows(page, kind, "", schema);
            }

            foreach (var (_, requirement) in name == "recipe" ? schema["$defs"]!.AsObject() : [])
            {
                page.Append($"\n### {Text(requirement!, "title")}\n\n{Text(requirement!, "description")}\n\n");
                Heading(page);
                Rows(page, requirement!, "", schema);
            }
        }

        page.Append("\n## Signals\n\nWhat a tag map may name. Values are kept in the unit given here, whatever the controller sends.\n\n");
        page.Append("| signal | of | values | unit | meaning |\n| --- | --- | --- | --- | --- |\n");
        foreach (var signal in SignalCatalogue.All)
        {
            var scope = signal.Scope switch { SignalScope.Washer => "washer", SignalScope.Station => "station", _ => "either" };
            page.Append($"| `{signal.Name}` | {scope} | {signal.Type.ToString().ToLowerInvariant()} | {signal.Unit} | {signal.Meaning} |\n");
        }

        return page.ToString();
    }

    private static void Heading(StringBuilder page) => page.Append("| key | needed | values | default | meaning |\n| --- | --- | --- | --- | --- |\n");

    private static void Rows(StringBuilder page, JsonNode schema, string prefix, JsonNode root)
    {
        var required = schema["required"]?.AsArray().Select(n => n!.GetValue<string>()).ToHashSet() ?? [];
        foreach (var (key, property) in schema["properties"]?.AsObject() ?? [])
        {
            var target = Resolve(property!, root);
            var path = prefix + key;
            var needed = required.Contains(key) ? "yes" : "";
            var standard = (property!["default"] ?? target["default"]) is { } value ? $"`{(value.GetValueKind() == System.Text.Json.JsonValueKind.String ? value.GetValue<string>() : value.ToJsonString())}`" : "";
            page.Append($"| `{path}` | {needed} | {Values(target).Replace("|", "\\|", StringComparison.Ordinal)} | {standard} | {Text(property, "description", target).Replace("|", "\\|", StringComparison.Ordinal)} |\n");
            Rows(page, target, path + ".", root);
            foreach (var kind in Alternatives(target, root))
            {
                page.Append($"| | | **{Text(kind, "title")}** | | {Text(kind, "description")} |\n");
                Rows(page, kind, path + ".", root);
            }

            if (target["items"] is { } items)
            {
                Rows(page, Resolve(items, root), path + "[].", root);
            }
        }
    }

    /// <summary>Kinds of mapping, of which a file has one.</summary>
    private static IEnumerable<JsonNode> Alternatives(JsonNode schema, JsonNode root) =>
        schema["oneOf"]?.AsArray().Where(kind => kind!["$ref"] is not null).Select(kind => Resolve(kind!, root)) ?? [];

    /// <summary>References within the file; those to other files are described where they stand.</summary>
    private static JsonNode Resolve(JsonNode schema, JsonNode root) => schema["$ref"]?.GetValue<string>() is { } reference && reference.StartsWith('#')
        ? reference[2..].Split('/').Aggregate(root, (node, part) => node[part]!)
        : schema;

    private static string Values(JsonNode schema)
    {
        var example = schema["examples"]?[0] is JsonValue value ? $", such as `{value}`" : "";
        return schema switch
        {
            { } s when s["const"] is { } constant => $"`{constant}`",
            { } s when s["enum"] is JsonArray choices => string.Join(", ", choices.Select(c => $"`{c}`")),
            { } s when s["type"]?.GetValue<string>() == "integer" => s["minimum"] is null ? "whole number" : $"{s["minimum"]} to {s["maximum"]}",
            { } s when s["type"]?.GetValue<string>() == "number" => s["minimum"] is { } least ? s["maximum"] is { } most ? $"{least} to {most}" : $"{least} or more" : "number" + example,
            { } s when s["type"]?.GetValue<string>() == "boolean" => "`true`, `false`",
            { } s when s["type"]?.GetValue<string>() == "array" => $"list of {s["minItems"]} to {s["maxItems"]}",
            { } s when s["type"]?.GetValue<string>() == "object" => "mapping",
            { } s when s["oneOf"] is not null => "mapping of one of two kinds",
            { } s when s["anyOf"] is not null && s["examples"] is null => "a signal (below)",
            _ => "text" + example,
        };
    }

    private static string Text(JsonNode schema, string key, JsonNode? target = null) => (schema[key] ?? target?[key])?.GetValue<string>() ?? throw new KeyNotFoundException($"no {key} at {schema.GetPath()}");
}
