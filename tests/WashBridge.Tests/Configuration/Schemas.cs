using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;
using Json.Schema;
using WashBridge.Configuration;
using WashBridge.Configuration.Yaml;

namespace WashBridge.Tests.Configuration;

/// <summary>The published schemas, applied as an editor does.</summary>
internal static class Schemas
{
    public static readonly string Folder = Path.Combine(Repository.Root, "config/schema");

    private static readonly Lazy<IReadOnlyDictionary<string, JsonSchema>> All = new(Load);

    public static IReadOnlyList<string> Names { get; } = ["site", "washer", "tag-map", "recipe"];

    public static JsonNode Text(string name) => JsonNode.Parse(File.ReadAllText(FileOf(name)))!;

    public static string FileOf(string name) => Path.Combine(Folder, name + ".schema.json");

    /// <summary>Whether the schema for a file of a configuration accepts it. What is no YAML is not accepted.</summary>
    public static bool Accepts(string folder, string file)
    {
        var problems = new ProblemList();
        var root = YamlReader.Read(file, File.ReadAllText(Path.Combine(folder, file)), problems);
        return problems.Count == 0 && root is not null && Evaluate(NameFor(file), root).IsValid;
    }

    public static EvaluationResults Evaluate(string name, YamlNode root) =>
        All.Value[name].Evaluate(JsonSerializer.SerializeToElement(ToJson(root)), new EvaluationOptions { OutputFormat = OutputFormat.List });

    public static string NameFor(string file) => Path.GetDirectoryName(file.Replace('\\', '/')) switch
    {
        "washers" => "washer",
        "tag-maps" => "tag-map",
        "recipes" => "recipe",
        _ => "site",
    };

    private static Dictionary<string, JsonSchema> Load()
    {
        var options = new BuildOptions { SchemaRegistry = new SchemaRegistry() };
        var schemas = new Dictionary<string, JsonSchema>();
        foreach (var name in new[] { "tag-map", "site", "washer", "recipe" })
        {
            schemas[name] = JsonSchema.FromFile(FileOf(name), options);
        }

        return schemas;
    }

    private static JsonNode? ToJson(YamlNode node) => node switch
    {
        YamlMapping map => new JsonObject(map.Entries.Select(e => KeyValuePair.Create(e.Key.Text, ToJson(e.Value)))),
        YamlList list => new JsonArray([.. list.Items.Select(ToJson)]),
        YamlScalar { Kind: ScalarKind.Null } => null,
        YamlScalar { Kind: ScalarKind.Boolean } scalar => scalar.Text[0] is 't' or 'T',
        YamlScalar { Kind: ScalarKind.Integer } scalar => JsonNode.Parse(scalar.Text),
        YamlScalar { Kind: ScalarKind.Number } scalar => double.TryParse(scalar.Text, CultureInfo.InvariantCulture, out var number) && double.IsFinite(number) ? number : scalar.Text,
        _ => ((YamlScalar)node).Text,
    };
}
