using System.Text;

namespace WashBridge.Configuration.Binding;

/// <summary>One step of a path as it is written.</summary>
/// <param name="IsAggregate">By an Aggregates reference only (HasComponent, HasProperty ...); else by any hierarchical one.</param>
/// <param name="Namespace">Name, index, or URI behind <c>nsu=</c>, of a namespace; empty: namespace 0.</param>
/// <param name="Name">With every <c>&amp;</c> that it needs in a path.</param>
internal sealed record WrittenStep(bool IsAggregate, string Namespace, string Name);

/// <summary>Takes a path of browse names apart (OPC 10000-4, annex A.2). Stricter than the standard where people are likely to mean something else.</summary>
internal static class NodePathParser
{
    public const int MaxSteps = 32;

    /// <summary>Before a namespace URI, which a semicolon ends.</summary>
    public const string UriMark = "nsu=";

    /// <summary>What a name of a path cannot hold without <c>&amp;</c> before it.</summary>
    private const string Reserved = "/.<>:#!&";

    /// <returns>The steps, or what is wrong and what is allowed.</returns>
    public static (IReadOnlyList<WrittenStep> Steps, ParsedNode? Problem) Parse(string text)
    {
        var steps = new List<WrittenStep>();
        for (var at = 0; at < text.Length;)
        {
            var (step, problem) = ParseStep(text, ref at);
            if (step is null)
            {
                return ([], problem);
            }

            steps.Add(step);
        }

        return steps.Count <= MaxSteps ? (steps, null) : ([], ParsedNode.Wrong("the path is too long", $"at most {MaxSteps} steps"));
    }

    /// <summary>A name so that a path may hold it.</summary>
    public static string Escape(string name)
    {
        var text = new StringBuilder(name.Length);
        foreach (var character in name)
        {
            text.Append(IsReserved(character) ? "&" : "").Append(character);
        }

        return text.ToString();
    }

    private static (WrittenStep? Step, ParsedNode? Problem) ParseStep(string text, ref int at)
    {
        var isAggregate = text[at++] == '.';
        var name = new StringBuilder();
        string? prefix = null;
        if (string.CompareOrdinal(text, at, UriMark, 0, UriMark.Length) == 0)
        {
            var end = text.IndexOf(';', at);
            if (end <= at + UriMark.Length)
            {
                return (null, ParsedNode.Wrong("a namespace URI in the path does not end", "nsu=URI;NAME"));
            }

            (prefix, at) = (text[at..end], end + 1);
        }

        for (; at < text.Length && text[at] is not ('/' or '.'); at++)
        {
            switch (text[at])
            {
                case '&' when at + 1 < text.Length && IsReserved(text[at + 1]):
                    name.Append('&').Append(text[++at]);
                    break;
                case ':' when prefix is null:
                    prefix = name.ToString();
                    name.Clear();
                    break;
                case var reserved when IsReserved(reserved):
                    return (null, ParsedNode.Wrong($"the character {reserved} has a meaning of its own in a path", $"&{reserved} where it belongs to a name"));
                case var character:
                    name.Append(character);
                    break;
            }
        }

        if (name.Length == 0)
        {
            return (null, ParsedNode.Wrong("a step of the path has no name", "/NAMESPACE:NAME for each step, without a / at the end"));
        }

        // A dot within a name is what people write; the standard takes it as the way to a component.
        return isAggregate && prefix is null
            ? (null, ParsedNode.Wrong($"a dot in a path leads to a component or property, and .{name} does not tell its namespace", $"&.{name} if the dot belongs to the name; .0:{name} for a property of the standard"))
            : (new WrittenStep(isAggregate, prefix ?? "", name.ToString()), null);
    }

    private static bool IsReserved(char character) => Reserved.Contains(character, StringComparison.Ordinal);
}
