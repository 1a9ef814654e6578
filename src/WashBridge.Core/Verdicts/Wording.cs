using System.Globalization;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;

namespace WashBridge.Core.Verdicts;

/// <summary>How verdicts speak to people: trade words, rounded numbers, one sentence.</summary>
internal static class Wording
{
    public static string Of(StepKind step) => step switch
    {
        StepKind.WallSpray => "wall spray",
        StepKind.SpearRinse => "spear rinse",
        StepKind.Hold => "hold",
        StepKind.Drain => "drain",
        StepKind.Pressurise => "pressurise",
        _ => "vent",
    };

    public static string Of(EdgeName edge)
    {
        var side = edge.Side == EdgeSide.Start ? "start" : "end";
        return edge.Step is { } step ? $"the {side} of {Of(step)} in {edge.Phase}" : $"the {side} of {edge.Phase}";
    }

    public static string Of(Verdict verdict) => verdict switch
    {
        Verdict.Met => "met",
        Verdict.NotMet => "not met",
        _ => "not proven",
    };

    public static string List(IEnumerable<string> names) => string.Join(", ", names);

    /// <summary>To the thousandth, which is finer than any poll; below 1, where fractions live, to four digits.</summary>
    public static string Number(double value) => Math.Abs(value) switch
    {
        < 1 => value.ToString("G4", CultureInfo.InvariantCulture),
        < 10_000 => value.ToString("0.###", CultureInfo.InvariantCulture),
        _ => value.ToString("0.#", CultureInfo.InvariantCulture),
    };

    /// <param name="unit">UCUM; degrees are written as people read them.</param>
    public static string Quantity(double value, string unit) => unit.Length == 0 ? Number(value) : $"{Number(value)} {(unit == "Cel" ? "°C" : unit)}";

    public static string Limit(TimeSpan limit) => Quantity(limit.TotalSeconds, "s");

    /// <summary><c>44.6 to 46.6 s</c>, <c>at least 44.6 s</c>, or <c>3</c>.</summary>
    public static string Interval(Measurement measured)
    {
        if (measured.Upper is not { } upper)
        {
            return $"at least {Quantity(measured.Lower, measured.Unit)}";
        }

        return upper == measured.Lower
            ? Quantity(upper, measured.Unit)
            : $"{Number(measured.Lower)} to {Quantity(upper, measured.Unit)}";
    }
}
