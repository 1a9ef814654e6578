using System.Text.RegularExpressions;

namespace WashBridge.EndToEnd.Tests.Installing;

/// <summary>Commands that a page has people type.</summary>
internal static partial class Page
{
    /// <summary>The lines of its shell blocks, in order, each with what its block is marked with: nothing, or why it cannot be typed here, such as <c>root</c>.</summary>
    /// <param name="path">From the repository's root.</param>
    /// <param name="from">Heading at which to begin.</param>
    /// <param name="until">Heading at which to end; null: at the end.</param>
    public static IReadOnlyList<(string Kind, string Command)> Commands(string path, string from = "# ", string? until = null)
    {
        var page = File.ReadAllText(Path.Combine(Repository.Root, path));
        var part = page[page.IndexOf(from, StringComparison.Ordinal)..(until is null ? page.Length : page.IndexOf(until, StringComparison.Ordinal))];
        return [.. from block in Blocks().Matches(part)
                   from line in block.Groups[2].Value.Split('\n', StringSplitOptions.RemoveEmptyEntries)
                   select (block.Groups[1].Value, line.Trim())];
    }

    [GeneratedRegex("```sh ?([a-z]*)\n(.*?)```", RegexOptions.Singleline)]
    private static partial Regex Blocks();
}
