using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;

namespace WashBridge.Grafana;

/// <summary>JSON that people can review: what fits a line stands on one.</summary>
internal static class Layout
{
    private const int Width = 160;

    private static readonly JsonSerializerOptions Plain = new() { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    public static string Write(JsonNode node)
    {
        var text = new StringBuilder();
        Write(node, 0, text);
        return text.Append('\n').ToString();
    }

    private static void Write(JsonNode? node, int indent, StringBuilder text)
    {
        var line = node is null ? "null" : node.ToJsonString(Plain);
        if (node is not (JsonObject or JsonArray) || indent + line.Length <= Width)
        {
            text.Append(line);
            return;
        }

        var (open, close) = node is JsonObject ? ('{', '}') : ('[', ']');
        var items = node is JsonObject o ? o.Select(p => ($"{JsonSerializer.Serialize(p.Key, Plain)}: ", p.Value)) : node.AsArray().Select(v => ("", v));
        text.Append(open);
        var separator = "";
        foreach (var (key, value) in items)
        {
            text.Append(separator).Append('\n').Append(' ', indent + 2).Append(key);
            Write(value, indent + 2, text);
            separator = ",";
        }

        text.Append('\n').Append(' ', indent).Append(close);
    }
}
