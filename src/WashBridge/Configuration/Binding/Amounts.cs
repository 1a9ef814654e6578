using System.Globalization;
using System.Text.RegularExpressions;

namespace WashBridge.Configuration.Binding;

/// <summary>Amounts with their unit, as people write them: <c>45 s</c>, <c>250 ms</c>, <c>75 Cel</c>, <c>0.5 %</c>.</summary>
internal static partial class Amounts
{
    public const string DurationForm = "a number and one of ms, s, min, h, d, such as 45 s";

    private static readonly Dictionary<string, double> SecondsByUnit = new() { ["ms"] = 0.001, ["s"] = 1, ["min"] = 60, ["h"] = 3600, ["d"] = 86_400 };

    public static TimeSpan? ParseDuration(string text) =>
        Parse(text) is { } amount && SecondsByUnit.TryGetValue(amount.Unit, out var seconds) && amount.Value >= 0 && amount.Value * seconds < TimeSpan.MaxValue.TotalSeconds / 2
            ? TimeSpan.FromTicks((long)Math.Round(amount.Value * seconds * TimeSpan.TicksPerSecond))
            : null;

    /// <summary>A number and its unit, or null if that is not what the text is.</summary>
    public static (double Value, string Unit)? Parse(string text) =>
        Form().Match(text) is { Success: true } match && double.TryParse(match.Groups[1].ValueSpan, NumberStyles.Float, CultureInfo.InvariantCulture, out var value) && double.IsFinite(value)
            ? (value, match.Groups[2].Value)
            : null;

    /// <summary>The shortest way to write a duration that reads back the same.</summary>
    public static string Write(TimeSpan duration)
    {
        foreach (var (unit, seconds) in SecondsByUnit.Reverse())
        {
            var value = duration.TotalSeconds / seconds;
            if (value >= 1 && value == Math.Floor(value))
            {
                return string.Create(CultureInfo.InvariantCulture, $"{value} {unit}");
            }
        }

        return string.Create(CultureInfo.InvariantCulture, $"{duration.TotalMilliseconds} ms");
    }

    [GeneratedRegex(@"^([-+]?[0-9]+(?:\.[0-9]+)?) ?([A-Za-z%][A-Za-z/()%0-9]*)\z")]
    private static partial Regex Form();
}
