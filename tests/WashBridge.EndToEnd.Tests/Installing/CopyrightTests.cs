using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using System.Xml.Linq;

namespace WashBridge.EndToEnd.Tests.Installing;

/// <summary>The Debian package's copyright file (Debian, Machine-readable debian/copyright file 1.0) against what the NuGet packages in the program state of themselves.</summary>
public sealed class CopyrightTests
{
    private const string Machine = "linux-x64";

    private static readonly JsonNode Assets = JsonNode.Parse(File.ReadAllText(Path.Combine(Repository.Root, "src", "WashBridge", "obj", "project.assets.json")))!;

    private static readonly List<Dictionary<string, string>> Paragraphs =
        [.. File.ReadAllText(Path.Combine(Repository.Root, "src", "WashBridge", "Installing", "debian", "copyright")).Split("\n\n").Select(Fields)];

    [Fact]
    public void Every_library_in_the_program_is_named_with_the_copyright_and_licence_that_its_package_states()
    {
        var shipped = Shipped().ToList();
        Assert.True(shipped.Count > 50);
        Assert.All(shipped, s =>
        {
            var (file, package) = s;
            var stated = Nuspec(package);
            var paragraph = Paragraphs.Single(p => Files(p).Contains(file));
            Assert.Equal(stated.Copyright, paragraph["Copyright"]);
            var licence = paragraph["License"];
            if (stated.Expression is { } expression)
            {
                Assert.Equal(expression.Replace(" OR ", " or ", StringComparison.Ordinal), licence.Split('\n')[0]);
            }
            else if (stated.Text is { } text)
            {
                Assert.Equal(Words(Regex.Replace(text, @"\A(.*\n)*All Rights Reserved", "")), Words(Text(licence)));
            }
            else
            {
                Assert.Contains(stated.Url!, licence);
            }
        });
    }

    [Fact]
    public void Nothing_is_named_that_is_not_in_the_program_and_every_licence_has_a_text()
    {
        string[] own = ["*", "*/DejaVuSansCondensed.ttf", "*/DejaVuSansCondensed-Bold.ttf"];
        Assert.Equal(Shipped().Select(s => s.File).Concat(own).Order(StringComparer.Ordinal), Paragraphs.SelectMany(Files).Order(StringComparer.Ordinal));
        Assert.All(Paragraphs.Where(p => p.ContainsKey("License")), p => Assert.NotEmpty(Text(p["License"])));
        var fonts = File.ReadAllText(Path.Combine(Repository.Root, "src", "WashBridge", "Reporting", "Writing", "Fonts", "LICENCE.txt"));
        Assert.EndsWith(Words(Text("Bitstream-Vera")), Words(fonts), StringComparison.Ordinal);
    }

    /// <summary>What lies in the program, as the copyright file names it, and the package that it is from.</summary>
    private static IEnumerable<(string File, string Package)> Shipped()
    {
        foreach (var runtime in Assets["project"]!["frameworks"]!["net10.0"]!["downloadDependencies"]!.AsArray())
        {
            if ((string)runtime!["name"]! is var name && name.EndsWith($".Runtime.{Machine}", StringComparison.Ordinal))
            {
                yield return ($"*/{name.Replace($".Runtime.{Machine}", "", StringComparison.Ordinal)}/*", $"{name}/{((string)runtime["version"]!).Trim('[', ']').Split(',')[0]}");
            }
        }

        foreach (var (package, node) in Assets["targets"]![$"net10.0/{Machine}"]!.AsObject())
        {
            foreach (var path in new[] { "runtime", "native" }.SelectMany(kind => node![kind]?.AsObject().Select(file => file.Key) ?? []))
            {
                if (Path.GetFileName(path) is var file && file != "_._" && (string)node!["type"]! == "package")
                {
                    yield return ($"*/{file}", package);
                }
            }

            if (package.StartsWith("Microsoft.AspNetCore.App.Internal.Assets/", StringComparison.Ordinal))
            {
                yield return ("*/wwwroot/_framework/*", package);
            }

            if (package.StartsWith("Vizor.ECharts/", StringComparison.Ordinal))
            {
                yield return ("*/wwwroot/_content/Vizor.ECharts/*", package);
            }
        }
    }

    private static (string Copyright, string? Expression, string? Text, string? Url) Nuspec(string package)
    {
        var folder = Path.Combine(Assets["packageFolders"]!.AsObject().First().Key, package.ToLowerInvariant());
        var metadata = XDocument.Load(Directory.GetFiles(folder, "*.nuspec").Single()).Root!.Elements().First();
        string? Value(string name) => metadata.Elements().SingleOrDefault(e => e.Name.LocalName == name)?.Value;
        var type = metadata.Elements().SingleOrDefault(e => e.Name.LocalName == "license")?.Attribute("type")?.Value;
        return (
            Value("copyright") ?? Value("authors")!,
            type == "expression" ? Value("license") : null,
            type == "file" ? File.ReadAllText(Path.Combine(folder, Value("license")!)) : null,
            Value("licenseUrl"));
    }

    private static Dictionary<string, string> Fields(string paragraph) =>
        Regex.Matches(paragraph, @"^([A-Za-z-]+):(.*(?:\n .*)*)", RegexOptions.Multiline).ToDictionary(m => m.Groups[1].Value, m => m.Groups[2].Value.Trim());

    private static string[] Files(Dictionary<string, string> paragraph) => paragraph.GetValueOrDefault("Files")?.Split((char[])[' ', '\n'], StringSplitOptions.RemoveEmptyEntries) ?? [];

    /// <summary>Of a licence: what stands below its name, there or in a paragraph of its own.</summary>
    private static string Text(string licence) => licence.Contains('\n', StringComparison.Ordinal)
        ? licence[licence.IndexOf('\n', StringComparison.Ordinal)..]
        : Paragraphs.Where(p => !p.ContainsKey("Files") && p.GetValueOrDefault("License")?.Split('\n')[0] == licence).Select(p => Text(p["License"])).Single();

    /// <summary>Without line breaks, and without the points that stand for empty lines.</summary>
    private static string Words(string text) => string.Join(' ', Regex.Replace(text, @"^ \.$", "", RegexOptions.Multiline).Split((char[])[' ', '\n', '\r'], StringSplitOptions.RemoveEmptyEntries));
}
