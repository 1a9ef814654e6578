using System.Text.RegularExpressions;
using WashBridge.Configuration.Yaml;

namespace WashBridge.Configuration.Binding;

/// <summary>Secrets come from outside: configuration files are copied, mailed and kept in version control, so one with a secret in it is refused.</summary>
internal static partial class SecretBinder
{
    private const string Allowed = "{env: NAME_OF_VARIABLE} or {file: path}";

    private static readonly TextForm VariableName = new(VariablePattern(), "the name of an environment variable: letters, digits and underscores");

    public static string? Bind(YamlNode? node, SourceFiles sources)
    {
        if (node is null)
        {
            return null;
        }

        if (node is not YamlMapping mapping)
        {
            sources.Problems.Add(node.Place, "a secret must not stand in a configuration file, where copies and version control spread it: change it, and name where the new one is kept", "a value (not shown)", Allowed);
            return null;
        }

        var map = new MapBinder(mapping, sources.Problems);
        var variable = map.OptionalText("env", VariableName);
        var file = map.OptionalText("file", TextForms.Line);
        map.Finish();
        if (mapping.Entries.Count == 0 || (map.Node.Find("env") is not null && map.Node.Find("file") is not null))
        {
            sources.Problems.Add(mapping.Place, "a secret has exactly one source", string.Join(" and ", mapping.Entries.Select(e => e.Key.Text)), Allowed);
            return null;
        }

        return variable is not null ? FromEnvironment(variable, map.PlaceOf("env"), sources)
            : file is not null ? sources.ReadSecret(file, map.PlaceOf("file"))
            : null;
    }

    private static string? FromEnvironment(string variable, Place place, SourceFiles sources)
    {
        if (sources.EnvironmentVariable(variable) is { Length: > 0 } secret)
        {
            return secret;
        }

        sources.Problems.Add(place, "the environment variable is not set", variable, "a variable that is set where the program runs");
        return null;
    }

    [GeneratedRegex(@"^[A-Za-z_][A-Za-z0-9_]{0,99}\z")]
    private static partial Regex VariablePattern();
}
