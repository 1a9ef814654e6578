using System.Text.RegularExpressions;

namespace WashBridge.Configuration.Yaml;

/// <summary>Tag resolution of plain scalars after the YAML 1.2.2 core schema, 10.3.2. Notably <c>yes</c>, <c>no</c> and <c>on</c> are text.</summary>
internal static partial class CoreSchema
{
    public static ScalarKind Resolve(string plain) => plain switch
    {
        "" or "~" or "null" or "Null" or "NULL" => ScalarKind.Null,
        "true" or "True" or "TRUE" or "false" or "False" or "FALSE" => ScalarKind.Boolean,
        _ when Integer().IsMatch(plain) => ScalarKind.Integer,
        _ when Number().IsMatch(plain) => ScalarKind.Number,
        _ => ScalarKind.Text,
    };

    [GeneratedRegex(@"^([-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+)\z")]
    private static partial Regex Integer();

    [GeneratedRegex(@"^([-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?|[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN))\z")]
    private static partial Regex Number();
}
