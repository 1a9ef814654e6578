using System.Globalization;
using WashBridge.Core.Signals;
using WashBridge.Core.Verdicts;

namespace WashBridge.Core.Recipes.Book;

/// <summary>Recipes in sentences: what each requirement asks for, with units.</summary>
public static class RecipeWords
{
    private const double PercentFrom = 0.001;

    /// <summary>The title, or where there is none the id.</summary>
    public static string Name(Requirement requirement)
    {
        ArgumentNullException.ThrowIfNull(requirement);
        return requirement.Title.Length > 0 ? requirement.Title : requirement.Id;
    }

    /// <summary>One sentence.</summary>
    public static string Of(Requirement requirement) => requirement switch
    {
        ContactTime r => $"From {Wording.Of(r.From)} to {Wording.Of(r.To)}: {Limits(r.AtLeast, r.AtMost)}{(r.EveryPass ? ", in every pass" : ", in one pass at least")}.",
        StepTime r => $"{Capital(Wording.Of(r.Step))} in {r.Phase}: {Limits(r.AtLeast, r.AtMost)}{(r.Total ? ", all passes together" : ", in every pass")}.",
        TimeBeyond r => $"{r.Signal} at or {(r.Below ? "below" : "above")} {Wording.Quantity(r.Value, UnitOf(r.Signal))} for at least {Seconds(r.AtLeast)} during {Wording.List(r.Phases)}{Sensor(r.SensorUncertainty, UncertaintyUnit(r.Signal))}.",
        PassCount r => $"At least {Count(r.AtLeast, "pass", "passes")} of {r.Phase}.",
        SwingCount r => $"At least {Count(r.AtLeast, "pressure swing", "pressure swings")} in {r.Phase}.",
        PhaseOrder r => $"These phases ran, in this order: {Wording.List(r.Phases)}.",
        DrainLimit r => $"Every drain{(r.Phases.Count == 0 ? "" : $" of {Wording.List(r.Phases)}")} is dry within {Seconds(r.AtMost)}.",
        ResidualOxygen r => $"Oxygen left after {r.Phase}: at most {Fraction(r.AtMost)}, starting from {Fraction(r.Initial)} with {Fraction(r.InPurgeGas)} in the purge gas{Sensor(r.SensorUncertainty, "bar")}.",
        ThermalDose r => $"{DoseName(r.Method)} from {r.Signal} during {Wording.List(r.Phases)}: at least {Wording.Quantity(r.AtLeast, DoseUnit(r.Method))}{Sensor(r.SensorUncertainty, "K")}.",
        null => throw new ArgumentNullException(nameof(requirement)),
        _ => requirement.GetType().Name,
    };

    public static string Of(ApprovedSetpoint setpoint)
    {
        ArgumentNullException.ThrowIfNull(setpoint);
        return Wording.Quantity(setpoint.Value, setpoint.Unit) + (setpoint.Tolerance > 0 ? $", up to {Wording.Quantity(setpoint.Tolerance, setpoint.Unit)} more or less" : "");
    }

    public static string Of(DecisionRule rule)
    {
        ArgumentNullException.ThrowIfNull(rule);
        return rule.Method == DecisionMethod.Bounds
            ? "Bounds: met only if the whole measured interval conforms."
            : $"Guard band (JCGM 106:2012, 8.3): a false decision with a probability of at most {Percent(rule.Risk)}.";
    }

    /// <summary>What a signal is measured in; empty where only the tag map tells.</summary>
    public static string UnitOf(string signal) => SignalCatalogue.Find(signal)?.Unit ?? "";

    /// <summary>The unit of a difference of such values.</summary>
    public static string UncertaintyUnit(string signal) => DifferenceUnit(UnitOf(signal));

    public static string DifferenceUnit(string unit) => unit switch { "Cel" => "K", "bar(a)" => "bar", _ => unit };

    public static string DoseUnit(DoseMethod method) => method == DoseMethod.A0 ? "s" : "min";

    internal static string Seconds(TimeSpan time) => Wording.Limit(time);

    internal static string Percent(double fraction) => Wording.Quantity(Math.Round(fraction * 100, 9), "%");

    /// <summary>A volume fraction: in per cent, small ones in ppm.</summary>
    internal static string Fraction(double fraction) => fraction is > 0 and < PercentFrom ? Wording.Quantity(Math.Round(fraction * 1e6, 6), "ppm") : Percent(fraction);

    internal static string DoseName(DoseMethod method) => method == DoseMethod.A0 ? "A0 (ISO 15883-1)" : "Pasteurisation units";

    internal static string Limits(TimeSpan? atLeast, TimeSpan? atMost) => (atLeast, atMost) switch
    {
        ({ } least, { } most) => $"at least {Seconds(least)} and at most {Seconds(most)}",
        ({ } least, null) => $"at least {Seconds(least)}",
        (null, { } most) => $"at most {Seconds(most)}",
        _ => "no limit",
    };

    private static string Sensor(double uncertainty, string unit) => uncertainty > 0 ? $", sensor off by up to {Wording.Quantity(2 * uncertainty, unit)} (twice its standard uncertainty)" : "";

    private static string Count(int count, string one, string many) => string.Create(CultureInfo.InvariantCulture, $"{count} {(count == 1 ? one : many)}");

    private static string Capital(string text) => char.ToUpperInvariant(text[0]) + text[1..];
}
