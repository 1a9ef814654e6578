using System.Globalization;
using Spectre.Console;
using WashBridge.Checking;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;

namespace WashBridge.Browsing;

/// <summary>A variable that was found, with what the server tells of it.</summary>
internal sealed record ListedVariable(FoundVariable Found, Variable Variable);

/// <summary>Prints variables for people.</summary>
internal static class NodeList
{
    private const int LongestText = 40;

    public static void Write(IReadOnlyList<ListedVariable> variables, NamespaceTable namespaces, TextWriter output, IAnsiConsole? terminal)
    {
        var table = new TextTable("name", "type", "value", "unit", "node") { Unbroken = ["node"] };
        foreach (var (found, variable) in variables)
        {
            table.Add(found.ToString(), variable.TypeName, ValueOf(variable), variable.UnitName, namespaces.Portable(variable.Node));
        }

        table.Write(output, terminal);
    }

    /// <summary>A value for people; the status where there is none.</summary>
    public static string ValueOf(Variable variable) => variable switch
    {
        { IsReadable: false } => "access denied",
        { Value.Status: { IsBad: true } status } => status.ToString(),
        { Value.Value: var value } => Text(value),
    };

    /// <summary>A value as it came, shortened.</summary>
    public static string Text(Variant value) => value switch
    {
        { IsNull: true } => "-",
        { IsArray: true } => Short("[" + string.Join(", ", value.Elements!.Cast<object?>().Take(8).Select(Text)) + (value.Elements!.Length > 8 ? ", …" : "") + "]"),
        _ => Text(value.Value),
    };

    public static string Text(object? value) => value switch
    {
        null => "-",
        bool flag => flag ? "true" : "false",
        string or LocalizedText => $"\"{Short(Printable($"{value}"))}\"",
        float number => number.ToString("G7", CultureInfo.InvariantCulture),
        double number => number.ToString("G7", CultureInfo.InvariantCulture),
        DateTime time => time.ToString("yyyy-MM-dd HH:mm:ss", CultureInfo.InvariantCulture),
        byte[] bytes => $"{bytes.Length} bytes",
        Variant inner => Text(inner),
        _ => Short(Printable(string.Create(CultureInfo.InvariantCulture, $"{value}"))),
    };

    private static string Short(string text) => text.Length <= LongestText ? text : text[..(LongestText - 1)] + "…";

    private static string Printable(string text) => new([.. text.Select(c => char.IsControl(c) ? ' ' : c)]);
}
