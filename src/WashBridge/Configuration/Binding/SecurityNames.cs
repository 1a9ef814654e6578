using WashBridge.Configuration.Yaml;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Configuration.Binding;

/// <summary>Security policies and modes by the names that the standard gives them (OPC 10000-7; OPC 10000-4, 7.20).</summary>
internal static class SecurityNames
{
    /// <summary>Names of the standard for what is no longer safe; some controllers still offer them.</summary>
    private static readonly string[] Withdrawn = ["Basic128Rsa15", "Basic256"];

    public static IReadOnlyList<string> Policies { get; } = [.. SecurityPolicy.All.Select(p => p.Name)];

    public static IReadOnlyList<string> Modes { get; } = [.. Enum.GetValues<MessageSecurityMode>().Where(m => m != MessageSecurityMode.Invalid).Select(m => m.ToString())];

    /// <summary>Null: none is given, or the problem was reported.</summary>
    public static SecurityPolicy? Policy(YamlNode? node, ProblemList problems) =>
        node is null ? null : SecurityPolicy.All.FirstOrDefault(p => p.Name == Choose(node, Policies, "security policy", problems));

    public static MessageSecurityMode? Mode(YamlNode? node, ProblemList problems) =>
        node is not null && Choose(node, Modes, "security mode", problems) is { } name ? Enum.Parse<MessageSecurityMode>(name) : null;

    private static string? Choose(YamlNode node, IReadOnlyList<string> names, string what, ProblemList problems)
    {
        var text = node is YamlScalar { Kind: ScalarKind.Text } scalar ? scalar.Text : null;
        if (text is not null && names.Contains(text))
        {
            return text;
        }

        if (text is not null && Array.Exists(Withdrawn, w => w.Equals(text, StringComparison.OrdinalIgnoreCase)))
        {
            problems.Add(node, "the standard has withdrawn this security policy, because it can be broken", Scalars.OneOf(names));
            return null;
        }

        problems.Add(node, $"there is no such {what}{(text is null ? "" : Suggest(text, names))}", Scalars.OneOf(names));
        return null;
    }

    /// <summary>Capitals, hyphens and underscores are what people get wrong first.</summary>
    private static string Suggest(string text, IReadOnlyList<string> names)
    {
        var plain = names.FirstOrDefault(n => Plain(n) == Plain(text));
        return plain is null ? Suggestion.For(text, names) : $" (did you mean {plain}?)";
    }

    private static string Plain(string name) => new([.. name.Where(char.IsAsciiLetterOrDigit).Select(char.ToLowerInvariant)]);
}
