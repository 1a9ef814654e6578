using System.Globalization;
using Microsoft.Extensions.Localization;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;

namespace WashBridge.Web;

/// <summary>Washing in words that people read, the same on every page.</summary>
internal sealed class WashWords(IStringLocalizer<WashWords> texts)
{
    public string Of(StepKind step) => texts["step." + step];

    public string Of(PhaseKind phase) => texts["phase." + phase];

    public string Of(CycleOutcome outcome) => texts["outcome." + outcome];

    public string Of(KegIdSource source) => texts["id." + source];

    public string Of(DecisionRule rule) => rule.Method == DecisionMethod.Bounds ? texts["rule.bounds"] : texts["rule.guard", (rule.Risk * 100).ToString("0.###", CultureInfo.InvariantCulture)];

    /// <summary>Seconds with one decimal, rounded outwards so that the bounds shown still hold.</summary>
    public string Of(DurationBounds duration)
    {
        var lower = Math.Floor(duration.Lower.TotalSeconds * 10) / 10;
        return duration.IsUpperKnown
            ? texts["duration", One(lower), One(Math.Ceiling(duration.Upper.TotalSeconds * 10) / 10)]
            : texts["duration.open", One(lower)];
    }

    /// <summary>The measured interval, as <c>44.6 to 46.6 s</c>; empty where nothing was measured.</summary>
    public string Measured(RequirementResult result)
    {
        var unit = result.Unit.Length == 0 ? "" : " " + Units.Of(result.Unit);
        return (result.Lower, result.Upper) switch
        {
            (null, null) => "",
            ({ } lower, { } upper) when lower == upper => Number(lower) + unit,
            ({ } lower, { } upper) => texts["interval", Number(lower), Number(upper) + unit],
            ({ } lower, null) => texts["interval.open", Number(lower) + unit],
            (null, { } upper) => texts["interval.most", Number(upper) + unit],
        };
    }

    public string Limit(RequirementResult result) => result.Limit is { } limit ? Number(limit) + (result.Unit.Length == 0 ? "" : " " + Units.Of(result.Unit)) : "";

    /// <summary>Best estimate and standard uncertainty; empty where there is none.</summary>
    public string Estimate(RequirementResult result) => result is { Estimate: { } estimate, StandardUncertainty: { } u }
        ? texts["estimate", Number(estimate), Number(u) + (result.Unit.Length == 0 ? "" : " " + Units.Of(result.Unit))]
        : "";

    public static string Number(double value) => Math.Abs(value) switch
    {
        < 1 => value.ToString("G4", CultureInfo.InvariantCulture),
        < 10_000 => value.ToString("0.###", CultureInfo.InvariantCulture),
        _ => value.ToString("0.#", CultureInfo.InvariantCulture),
    };

    private static string One(double seconds) => seconds.ToString("0.0", CultureInfo.InvariantCulture);
}
