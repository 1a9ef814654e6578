using System.Globalization;
using System.Text.RegularExpressions;

namespace WashBridge.Tests.Logs;

/// <summary>Operators alert on event ids, so each is on the page of contributors, and none is there that nothing logs.</summary>
public sealed partial class EventIdTests
{
    [Fact]
    public void Every_event_id_of_the_program_is_on_the_page_and_no_other()
    {
        var logged = Directory.EnumerateFiles(Path.Combine(Repository.Root, "src"), "*.cs", SearchOption.AllDirectories)
            .Where(f => !f.Contains($"{Path.DirectorySeparatorChar}obj{Path.DirectorySeparatorChar}", StringComparison.Ordinal))
            .SelectMany(f => Logged().Matches(File.ReadAllText(f)))
            .Select(m => Number(m.Groups[1].Value));
        var page = File.ReadAllText(Path.Combine(Repository.Root, "DEVELOPERS.md"));
        var listed = Row().Matches(page[page.IndexOf("## Event ids of the log", StringComparison.Ordinal)..]).SelectMany(m => Listed(m.Groups[1].Value));
        Assert.Equal(logged.Distinct().Order(), listed.Order());
    }

    /// <summary><c>1001</c>, <c>1309, 1310</c> or <c>1101 to 1105</c>.</summary>
    private static IEnumerable<int> Listed(string ids)
    {
        var numbers = ids.Split([", ", " to "], StringSplitOptions.None).Select(Number).ToList();
        return ids.Contains(" to ", StringComparison.Ordinal) ? Enumerable.Range(numbers[0], numbers[1] - numbers[0] + 1) : numbers;
    }

    private static int Number(string text) => int.Parse(text, CultureInfo.InvariantCulture);

    [GeneratedRegex(@"(?:EventId = |LoggerMessage\()(\d+)")]
    private static partial Regex Logged();

    [GeneratedRegex(@"^\| (\d{4}(?:(?:, | to )\d{4})*) \|", RegexOptions.Multiline)]
    private static partial Regex Row();
}
