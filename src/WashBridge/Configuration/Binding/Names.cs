using System.Text;

namespace WashBridge.Configuration.Binding;

/// <summary>How members of an enumeration are written in YAML: <c>HoldingRegisters</c> as <c>holding-registers</c>, <c>UInt16</c> as <c>uint16</c>.</summary>
internal static class Names
{
    public static IReadOnlyList<string> Of<T>()
        where T : struct, Enum => [.. Enum.GetValues<T>().Select(NameOf)];

    public static string NameOf<T>(T value)
        where T : struct, Enum => Kebab(value.ToString());

    public static T? Parse<T>(string name)
        where T : struct, Enum
    {
        foreach (var value in Enum.GetValues<T>())
        {
            if (NameOf(value) == name)
            {
                return value;
            }
        }

        return null;
    }

    private static string Kebab(string pascal)
    {
        var kebab = new StringBuilder();
        for (var i = 0; i < pascal.Length; i++)
        {
            if (i > 0 && char.IsUpper(pascal[i]) && char.IsLower(pascal[i - 1]))
            {
                kebab.Append('-');
            }

            kebab.Append(char.ToLowerInvariant(pascal[i]));
        }

        return kebab.ToString();
    }
}
