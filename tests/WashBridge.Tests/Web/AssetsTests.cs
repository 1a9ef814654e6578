using System.Text.RegularExpressions;

namespace WashBridge.Tests.Web;

/// <summary>A style or a script that a page asks for under a wrong name fails only in a browser's console.</summary>
public sealed partial class AssetsTests
{
    private static readonly string Program = Path.Combine(Repository.Root, "src", "WashBridge");

    public static TheoryData<string> Files =>
    [
        .. Directory.GetFiles(Path.Combine(Program, "Web"), "*.razor", SearchOption.AllDirectories)
            .SelectMany(page => Assets().Matches(File.ReadAllText(page)).Select(m => m.Groups[1].Value))
            .Concat(Directory.GetFiles(Path.Combine(Program, "wwwroot"), "*.js", SearchOption.AllDirectories)
                .SelectMany(script => Imports().Matches(File.ReadAllText(script)).Select(m => Path.GetRelativePath(Path.Combine(Program, "wwwroot"), Path.Combine(Path.GetDirectoryName(script)!, m.Groups[1].Value)))))
            .Distinct().Order(StringComparer.Ordinal),
    ];

    [Theory]
    [MemberData(nameof(Files))]
    public void Every_style_and_script_that_is_asked_for_is_there(string file) => Assert.True(File.Exists(Path.Combine(Program, "wwwroot", file)), $"there is no {file} in wwwroot");

    [GeneratedRegex("""Assets\["([^"]+)"\]""")]
    private static partial Regex Assets();

    [GeneratedRegex(@"(?:from |import\()'(\.[^']+)'")]
    private static partial Regex Imports();
}
