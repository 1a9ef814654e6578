using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using WashBridge.Configuration;
using WashBridge.Configuration.Yaml;

namespace WashBridge.Tests.Configuration;

/// <summary>How the good configuration is spoilt, and what must be said of it.</summary>
internal sealed record BadFixture(string Path, string File, string? Replace, string By, IReadOnlyList<string> Problems, bool SchemaAccepts)
{
    private static readonly JsonSerializerOptions Plain = new() { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    public static BadFixture Read(string path)
    {
        var problems = new ProblemList();
        var map = Assert.IsType<YamlMapping>(YamlReader.Read(path, System.IO.File.ReadAllText(path), problems));
        Assert.Equal(0, problems.Count);
        return new BadFixture(
            path,
            Text("file")!,
            Text("replace"),
            Text("by")!,
            [.. (map.Find("problems")?.Value as YamlList)?.Items.Cast<YamlScalar>().Select(s => s.Text) ?? []],
            Text("schema") == "accepts");

        string? Text(string key) => (map.Find(key)?.Value as YamlScalar)?.Text;
    }

    public void Spoil(ConfigurationFixture fixture)
    {
        if (Replace is null)
        {
            fixture.Write(File, By);
        }
        else
        {
            fixture.Replace(File, Replace, By);
        }
    }

    /// <summary>Keeps what the person wrote and replaces what the program says.</summary>
    public void WriteExpected(IReadOnlyList<string> problems, bool schemaAccepts)
    {
        var kept = System.IO.File.ReadAllLines(Path).TakeWhile(l => !l.StartsWith("schema:", StringComparison.Ordinal));
        var text = new StringBuilder();
        foreach (var line in kept)
        {
            text.Append(line).Append('\n');
        }

        text.Append("schema: ").Append(schemaAccepts ? "accepts" : "rejects").Append("\nproblems:\n");
        foreach (var problem in problems)
        {
            text.Append("  - ").Append(JsonSerializer.Serialize(problem, Plain)).Append('\n');
        }

        System.IO.File.WriteAllText(Path, text.ToString());
    }
}
