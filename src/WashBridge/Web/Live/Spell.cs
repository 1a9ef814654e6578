using System.Globalization;
using WashBridge.Core.Time;

namespace WashBridge.Web.Live;

/// <summary>
/// Times and quantities for a glance. Durations are cut down to the second; where the shortest and the longest that they can be are further apart, both are told.
/// </summary>
internal static class Spell
{
    /// <summary>Below this nobody at a glance sees a difference.</summary>
    private static readonly TimeSpan Glance = TimeSpan.FromSeconds(1.5);

    /// <summary><c>34 s</c>, <c>2 min 05 s</c>, <c>3 h 10 min</c>, <c>4 d 2 h</c>.</summary>
    public static string Of(TimeSpan time) => time switch
    {
        { TotalSeconds: < 0 } => "0 s",
        { TotalMinutes: < 1 } => Text($"{Math.Floor(time.TotalSeconds):0} s"),
        { TotalHours: < 1 } => Text($"{(int)time.TotalMinutes} min {time.Seconds:00} s"),
        { TotalDays: < 1 } => Text($"{(int)time.TotalHours} h {time.Minutes:00} min"),
        _ => Text($"{(int)time.TotalDays} d {time.Hours} h"),
    };

    public static bool IsPrecise(DurationBounds time) => time.IsUpperKnown && time.Upper - time.Lower <= Glance;

    /// <summary>To the tenth, rounded outwards so that both bounds still hold.</summary>
    public static (string Lower, string Upper) Tenths(DurationBounds time) =>
        (Text($"{Math.Floor(time.Lower.TotalSeconds * 10) / 10:0.0}"), time.IsUpperKnown ? Text($"{Math.Ceiling(time.Upper.TotalSeconds * 10) / 10:0.0}") : "");

    /// <summary>Three digits, for people; units as people write them.</summary>
    public static string Quantity(double value, string ucum) => ucum.Length == 0 ? Number(value) : $"{Number(value)} {Unit(ucum)}";

    public static string Number(double value) => Math.Abs(value) switch
    {
        < 10 => Text($"{value:0.##}"),
        < 1000 => Text($"{value:0.#}"),
        _ => Text($"{value:0}"),
    };

    public static string Unit(string ucum) => ucum == "Cel" ? "°C" : ucum;

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
