using System.Text;
using System.Text.RegularExpressions;
using System.Xml.Linq;
using WashBridge.Configuration;

namespace WashBridge.Tests.Web;

/// <summary>All that pages say is in resources: every text that a page asks for is there, none is left over, and no words stand in the markup.</summary>
public sealed partial class TextsTests
{
    private static readonly string Folder = Path.Combine(Repository.Root, "src", "WashBridge", "Web");

    /// <summary>What is chosen from, as addresses write it, is a key by its name.</summary>
    private static readonly IReadOnlyList<string> Choices = [.. typeof(Site).Assembly.GetTypes().Where(t => t.IsEnum).SelectMany(Enum.GetNames).Select(n => n.ToLowerInvariant())];

    public static TheoryData<string> Pages => [.. Directory.GetFiles(Folder, "*.razor", SearchOption.AllDirectories).Select(f => Path.GetRelativePath(Folder, f)).Where(f => Path.GetFileName(f)[0] != '_').Order(StringComparer.Ordinal)];

    public static TheoryData<string> Resources => [.. Directory.GetFiles(Folder, "*.resx", SearchOption.AllDirectories).Select(f => Path.GetRelativePath(Folder, f)).Order(StringComparer.Ordinal)];

    [Theory]
    [MemberData(nameof(Pages))]
    public void Every_text_that_a_page_asks_for_is_there(string page)
    {
        var code = File.ReadAllText(Path.Combine(Folder, page));
        var texts = TextsOf(Path.ChangeExtension(page, ".resx")).Keys;
        foreach (var asked in Asks().Matches(code).Select(m => Balanced(code, m.Index + m.Length - 1, '[', ']')))
        {
            foreach (var (literal, isPart) in Keys(asked))
            {
                Assert.True(isPart ? texts.Any(t => t.StartsWith(literal, StringComparison.Ordinal) || t.EndsWith(literal, StringComparison.Ordinal)) : texts.Contains(literal), $"{page} asks for '{literal}', which its .resx does not have");
            }
        }
    }

    [Theory]
    [MemberData(nameof(Resources))]
    public void No_text_is_left_over_and_none_is_empty(string resource)
    {
        var texts = TextsOf(resource);
        var named = Path.GetFileNameWithoutExtension(resource);
        var page = new[] { ".razor", ".cs" }.Select(e => Path.Combine(Folder, Path.ChangeExtension(resource, e))).FirstOrDefault(File.Exists)
            ?? Directory.GetFiles(Path.GetDirectoryName(Path.Combine(Folder, resource))!, "*.cs").FirstOrDefault(f => Regex.IsMatch(File.ReadAllText(f), $@"\bclass {named}\b"));
        Assert.True(page is not null, $"{resource} belongs to no page and no class");
        var code = File.ReadAllText(page);
        var literals = SourcesBeside(page).Append(page).Distinct().SelectMany(f => Literals().Matches(File.ReadAllText(f))).Select(m => m.Groups[1].Value).ToHashSet(StringComparer.Ordinal);
        var keys = Asks().Matches(code).SelectMany(m => Keys(Balanced(code, m.Index + m.Length - 1, '[', ']'))).ToList();
        literals.UnionWith(keys.Where(k => !k.IsPart).Select(k => k.Literal));
        literals.UnionWith(Choices);
        var asked = keys.Where(k => k.IsPart).Select(k => k.Literal).ToList();
        foreach (var (key, text) in texts)
        {
            Assert.False(string.IsNullOrWhiteSpace(text), $"{resource}: '{key}' is empty");
            Assert.True(literals.Contains(key) || asked.Exists(part => key.StartsWith(part, StringComparison.Ordinal) || key.EndsWith(part, StringComparison.Ordinal)), $"{resource}: nobody asks for '{key}'");
        }
    }

    [Theory]
    [MemberData(nameof(Pages))]
    public void No_words_stand_in_the_markup(string page)
    {
        var markup = Markup(File.ReadAllText(Path.Combine(Folder, page)));
        var told = Attributes().Matches(markup).Select(m => m.Value).ToList();
        Assert.True(told.Count == 0, $"{page}: words in attributes: {string.Join("; ", told)}");
        var words = Words().Matches(Tags().Replace(Commands().Replace(markup, " "), " ")).Select(m => m.Value).ToList();
        Assert.True(words.Count == 0, $"{page}: words outside the resources: {string.Join(" ", words.Take(20))}");
    }

    [Fact]
    public void The_test_itself_sees_words_in_markup()
    {
        Assert.Matches(Words(), Tags().Replace(Markup("<p>@T[\"a\"] Hello</p>@code { var x = 1; }"), " "));
        Assert.DoesNotMatch(Words(), Tags().Replace(Markup("@page \"/x\"\n@if (Now is { } now)\n{\n    <p class=\"some\">@(now.Text ?? \"words in code\") @now.At(1).Name</p>\n}\nelse\n{\n    var x = \"y\";\n}\n@code { int words; }"), " "));
        Assert.Equal([("a", false), ("b", false)], Keys("x ? \"a\" : \"b\", \"not a key\""));
        Assert.Equal([("state.", true)], Keys("\"state.\" + now.To, 5"));
    }

    /// <summary>Where keys that are put into a page come from: classes of the web, the words of orders and of reports, and the pages that stand beside it.</summary>
    private static IEnumerable<string> SourcesBeside(string page) =>
    [
        .. Directory.GetFiles(Folder, "*.cs", SearchOption.AllDirectories),
        .. Directory.GetFiles(Path.Combine(Folder, "..", "Orders"), "*.cs"),
        .. Directory.GetFiles(Path.Combine(Folder, "..", "Reporting"), "*.cs", SearchOption.AllDirectories),
        .. Directory.GetFiles(Path.GetDirectoryName(page)!, "*.razor"),
    ];

    private static Dictionary<string, string> TextsOf(string resource)
    {
        var path = Path.Combine(Folder, resource);
        return File.Exists(path) ? XDocument.Load(path).Root!.Elements("data").ToDictionary(d => d.Attribute("name")!.Value, d => d.Element("value")!.Value, StringComparer.Ordinal) : [];
    }

    /// <summary>The keys that stand in <c>T[...]</c>: whole ones, and such as are put together with something. What comes after the first comma is put into the text.</summary>
    private static List<(string Literal, bool IsPart)> Keys(string asked)
    {
        var key = FirstArgument(asked);
        return [.. Literals().Matches(key).Where(m => m.Groups[1].Length > 0 && !IsCompared(key, m.Index)).Select(m => (m.Groups[1].Value.Split('{')[0], key.Contains('+') || m.Groups[1].Value.Contains('{')))];

        // A literal that something is compared with is no key.
        static bool IsCompared(string text, int at) => text[..at].TrimEnd() is var before && (before.EndsWith("==", StringComparison.Ordinal) || before.EndsWith("!=", StringComparison.Ordinal) || before.EndsWith(" is", StringComparison.Ordinal) || before.EndsWith(" or", StringComparison.Ordinal));
    }

    private static string FirstArgument(string asked)
    {
        var depth = 0;
        var quoted = false;
        for (var i = 0; i < asked.Length; i++)
        {
            quoted ^= asked[i] == '"';
            depth += quoted ? 0 : asked[i] is '(' or '[' or '{' ? 1 : asked[i] is ')' or ']' or '}' ? -1 : 0;
            if (asked[i] == ',' && depth == 0 && !quoted)
            {
                return asked[..i];
            }
        }

        return asked;
    }

    /// <summary>What a reader of the page's source would see outside of code.</summary>
    private static string Markup(string code)
    {
        code = Comments().Replace(code, " ");
        code = code.IndexOf("@code", StringComparison.Ordinal) is >= 0 and var at ? code[..at] : code;
        code = Directives().Replace(code, " ");
        code = Statements().Replace(code, " ");
        var markup = new StringBuilder();
        for (var i = 0; i < code.Length; i++)
        {
            if (Control().Match(code, i) is { Success: true } control && control.Index == i)
            {
                i += control.Length - 1;
                continue;
            }

            if (code[i] != '@' || i + 1 == code.Length)
            {
                markup.Append(code[i]);
                continue;
            }

            i = SkipExpression(code, i + 1) - 1;
        }

        return markup.ToString();
    }

    /// <summary>Behind an expression that begins at <paramref name="at"/>.</summary>
    private static int SkipExpression(string code, int at)
    {
        if (code[at] is '(' or '{')
        {
            return at + Balanced(code, at, code[at], code[at] == '(' ? ')' : '}').Length + 2;
        }

        while (at < code.Length)
        {
            if (char.IsLetterOrDigit(code[at]) || code[at] == '_' || (code[at] is '.' or '!' or '?' && at + 1 < code.Length && (char.IsLetter(code[at + 1]) || (code[at] == '!' && code[at + 1] == '.'))))
            {
                at++;
            }
            else if (code[at] is '(' or '[')
            {
                at += Balanced(code, at, code[at], code[at] == '(' ? ')' : ']').Length + 2;
            }
            else
            {
                break;
            }
        }

        return at;
    }

    /// <summary>What stands between the bracket at <paramref name="at"/> and the one that closes it.</summary>
    private static string Balanced(string code, int at, char open, char close)
    {
        var (depth, quoted) = (0, false);
        for (var i = at; i < code.Length; i++)
        {
            quoted ^= code[i] == '"';
            depth += quoted ? 0 : code[i] == open ? 1 : code[i] == close ? -1 : 0;
            if (depth == 0 && !quoted)
            {
                return code[(at + 1)..i];
            }
        }

        return code[(at + 1)..];
    }

    [GeneratedRegex("(?<![A-Za-z0-9_])(?:T|texts)\\[")]
    private static partial Regex Asks();

    [GeneratedRegex("\"([^\"\\\\\r\n]*)\"")]
    private static partial Regex Literals();

    [GeneratedRegex(@"@\*.*?\*@|<!--.*?-->", RegexOptions.Singleline)]
    private static partial Regex Comments();

    [GeneratedRegex(@"^\s*@(page|layout|using|inject|inherits|implements|attribute|preservewhitespace|namespace|typeparam)\b.*$", RegexOptions.Multiline)]
    private static partial Regex Directives();

    [GeneratedRegex(@"^\s*(var|else|case|break|continue|default|return;|[A-Za-z_.]+\s+=\s|[A-Za-z_.]+\(.*\);|[A-Za-z_.]+\+\+;|\(.*\) =)[^<]*$", RegexOptions.Multiline)]
    private static partial Regex Statements();

    [GeneratedRegex(@"\G@?(if|foreach|for|while|switch|else if|lock|using)\s*\((?>[^()""]+|""[^""]*""|(?<o>\()|(?<-o>\)))*(?(o)(?!))\)|\Gelse\b")]
    private static partial Regex Control();

    [GeneratedRegex("<code\\b[^>]*>.*?</code>", RegexOptions.Singleline)]
    private static partial Regex Commands();

    [GeneratedRegex("<(?:[^<>\"]|\"[^\"]*\")*>")]
    private static partial Regex Tags();

    [GeneratedRegex("(?<=[\\s])(aria-label|aria-description|title|alt|placeholder)=\"[^\"]*[A-Za-z]{2}[^\"]*\"")]
    private static partial Regex Attributes();

    [GeneratedRegex(@"[A-Za-z]{2,}")]
    private static partial Regex Words();
}
