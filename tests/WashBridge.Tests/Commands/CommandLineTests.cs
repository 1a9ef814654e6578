using System.CommandLine;
using System.Text.RegularExpressions;
using WashBridge.Commands;

namespace WashBridge.Tests.Commands;

/// <summary>What is written of commands, in the program's own help and on its pages, can be typed as it stands there.</summary>
public sealed partial class CommandLineTests
{
    /// <summary>Words of pages that stand for a file, a date or a key of one's own; a number is asked for where these are.</summary>
    private static readonly Dictionary<string, string> StandsFor = new(StringComparer.Ordinal) { ["NUMBER"] = "7", ["N"] = "7", ["NUMBER:HASH"] = $"7:{new string('a', 64)}" };

    public static TheoryData<string> Pages => [.. Directory.EnumerateFiles(Repository.Root, "*.md", SearchOption.AllDirectories)
        .Select(f => Path.GetRelativePath(Repository.Root, f))
        .Where(f => !f.Split(Path.DirectorySeparatorChar).Any(p => p is "bin" or "obj" or "artifacts" or "node_modules") && Commands(File.ReadAllText(Path.Combine(Repository.Root, f))).Any())
        .Order(StringComparer.Ordinal)];

    [Theory]
    [MemberData(nameof(Pages))]
    public void Every_command_on_a_page_is_one_that_there_is(string page) =>
        Assert.All(Commands(File.ReadAllText(Path.Combine(Repository.Root, page))), Parses);

    [Fact]
    public async Task Every_example_of_the_help_is_a_command_that_there_is()
    {
        var examples = 0;
        foreach (var command in All(Create()))
        {
            var lines = Regex.Matches(await HelpAsync(Names(command)), "^ *(?:Example: )?(washbridge .*)$", RegexOptions.Multiline).Select(m => m.Groups[1].Value).Where(l => !l.Contains('[') && !l.Contains("COMMAND", StringComparison.Ordinal)).ToList();
            Assert.All(lines, Parses);
            examples += lines.Count;
        }

        Assert.True(examples > 30, $"only {examples} examples were found");
    }

    [Fact]
    public async Task The_list_of_commands_has_a_sentence_for_each_and_no_more()
    {
        var list = await HelpAsync();
        Assert.All(Create().Subcommands, c => Assert.Matches($"(?m)^  {c.Name}  +[A-Z]", list));
        Assert.DoesNotContain("Example", list);
        Assert.InRange(list.Split('\n').Length, 24, 60);
        Assert.Contains("Exit codes: ", await HelpAsync("check"));
        Assert.Contains("<site>", await HelpAsync("check"));
    }

    private static RootCommand Create() => CommandLine.Create(TimeProvider.System, TextReader.Null);

    /// <remarks>A text may also speak of a command by its name alone.</remarks>
    private static void Parses(string command)
    {
        var words = Words().Matches(command).Select(m => m.Groups[1].Value + m.Groups[2].Value + m.Groups[3].Value).Skip(1).TakeWhile(w => w is not (">" or "|")).Select(w => StandsFor.GetValueOrDefault(w, w)).ToArray();
        var parsed = Create().Parse(words);
        var onlyNamed = parsed.CommandResult.Command is not RootCommand && Names(parsed.CommandResult.Command).SequenceEqual(words);
        Assert.True(parsed.Errors.Count == 0 || onlyNamed, $"{command}: {string.Join("; ", parsed.Errors.Select(e => e.Message))}");
    }

    /// <summary>Lines of code blocks, and what is set as code in the text, where it has more than the program's name and one more. Three dots leave something out.</summary>
    private static IEnumerable<string> Commands(string page) =>
        from code in Code().Matches(page)
        from line in (code.Groups[1].Value + code.Groups[2].Value).Split('\n')
        where line.StartsWith("washbridge ", StringComparison.Ordinal) && line.Count(c => c == ' ') > 1 && !line.Contains("...", StringComparison.Ordinal)
        select line;

    private static IEnumerable<Command> All(Command command) => command.Subcommands.SelectMany(All).Prepend(command);

    private static string[] Names(Command command) => command is RootCommand ? [] : [.. Names(command.Parents.OfType<Command>().Single()), command.Name];

    private static async Task<string> HelpAsync(params string[] command)
    {
        using var output = new StringWriter();
        await Create().Parse([.. command, "--help"]).InvokeAsync(new InvocationConfiguration { Output = output }, TestContext.Current.CancellationToken);
        return output.ToString();
    }

    [GeneratedRegex("```[a-z ]*\n(.*?)```|`([^`\n]+)`", RegexOptions.Singleline)]
    private static partial Regex Code();

    [GeneratedRegex("""["']([^"']*)["']|(\S+)()""")]
    private static partial Regex Words();
}
