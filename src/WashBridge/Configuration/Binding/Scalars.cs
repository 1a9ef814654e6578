using System.Globalization;
using WashBridge.Configuration.Yaml;

namespace WashBridge.Configuration.Binding;

/// <summary>Takes single values. Null means that the problem was reported.</summary>
internal static class Scalars
{
    public static string? Text(YamlNode node, TextForm form, ProblemList problems)
    {
        if (node is not YamlScalar { Kind: ScalarKind.Text } scalar)
        {
            var hint = node is YamlScalar { Kind: not ScalarKind.Null } ? " in quotes" : "";
            problems.Add(node, "this must be text", form.Description + hint);
            return null;
        }

        if (!form.Pattern.IsMatch(scalar.Text))
        {
            problems.Add(node, "this text does not have the form it needs", form.Description);
            return null;
        }

        return scalar.Text;
    }

    public static int? Integer(YamlNode node, int least, int most, ProblemList problems)
    {
        if (node is YamlScalar { Kind: ScalarKind.Integer } scalar && ParseInteger(scalar.Text) is { } value && value >= least && value <= most)
        {
            return (int)value;
        }

        problems.Add(node, node is YamlScalar { Kind: ScalarKind.Integer } ? "this number is out of range" : "this must be a whole number", WholeRange(least, most));
        return null;
    }

    public static double? Number(YamlNode node, double least, double most, ProblemList problems)
    {
        var value = node is YamlScalar { Kind: ScalarKind.Integer or ScalarKind.Number } scalar ? ParseNumber(scalar) : double.NaN;
        if (double.IsFinite(value) && value >= least && value <= most)
        {
            return value;
        }

        problems.Add(node, double.IsFinite(value) ? "this number is out of range" : "this must be a number", NumberRange(least, most));
        return null;
    }

    public static bool? Flag(YamlNode node, ProblemList problems)
    {
        if (node is YamlScalar { Kind: ScalarKind.Boolean } scalar)
        {
            return scalar.Text[0] is 't' or 'T';
        }

        problems.Add(node, "this must be true or false", "true, false");
        return null;
    }

    public static TimeSpan? Duration(YamlNode node, TimeSpan least, TimeSpan most, ProblemList problems)
    {
        if ((node is YamlScalar { Kind: ScalarKind.Text } scalar ? Amounts.ParseDuration(scalar.Text) : null) is not { } duration)
        {
            problems.Add(node, "this must be a duration with its unit", $"{Amounts.DurationForm}, {DurationRange(least, most)}");
            return null;
        }

        if (duration < least || duration > most)
        {
            problems.Add(node, "this duration is out of range", DurationRange(least, most));
            return null;
        }

        return duration;
    }

    public static T? Choice<T>(YamlNode node, ProblemList problems)
        where T : struct, Enum
    {
        var text = node is YamlScalar { Kind: ScalarKind.Text } scalar ? scalar.Text : null;
        if (text is not null && Names.Parse<T>(text) is { } value)
        {
            return value;
        }

        problems.Add(node, $"this is none of the choices{(text is null ? "" : Suggestion.For(text, Names.Of<T>()))}", OneOf(Names.Of<T>()));
        return null;
    }

    public static IReadOnlyList<YamlNode> List(YamlNode node, int least, int most, ProblemList problems)
    {
        if (node is not YamlList list)
        {
            problems.Add(node, "this must be a list", $"a list of {least} to {most}");
            return [];
        }

        if (list.Items.Count < least || list.Items.Count > most)
        {
            problems.Add(list.Place, "the list has the wrong length", $"{list.Items.Count}", $"{least} to {most} items");
        }

        return list.Items;
    }

    public static string WholeRange(int least, int most) => string.Create(CultureInfo.InvariantCulture, $"a whole number from {least} to {most}");

    public static string DurationRange(TimeSpan least, TimeSpan most) => $"{Amounts.Write(least)} to {Amounts.Write(most)}";

    public static string OneOf(IEnumerable<string> names) => string.Join(", ", names);

    public static string NumberRange(double least, double most) => (least, most) switch
    {
        (double.MinValue, double.MaxValue) => "a number",
        (_, double.MaxValue) => $"a number of at least {least}",
        (double.MinValue, _) => $"a number of at most {most}",
        _ => $"a number from {least} to {most}",
    };

    private static double ParseNumber(YamlScalar scalar) =>
        scalar.Kind == ScalarKind.Integer && ParseInteger(scalar.Text) is { } whole ? whole
        : double.TryParse(scalar.Text, NumberStyles.Float, CultureInfo.InvariantCulture, out var value) ? value
        : double.NaN;

    private static long? ParseInteger(string text)
    {
        try
        {
            return text.StartsWith("0x", StringComparison.Ordinal) ? Convert.ToInt64(text[2..], 16)
                : text.StartsWith("0o", StringComparison.Ordinal) ? Convert.ToInt64(text[2..], 8)
                : long.Parse(text, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture);
        }
        catch (OverflowException)
        {
            return null;
        }
    }
}
