namespace WashBridge.Core.Features;

/// <summary>What it means when a figure rises or falls.</summary>
public enum Worse
{
    Either = 0,
    Higher = 1,
    Lower = 2,
}

/// <summary>A family of figures that are measured alike.</summary>
/// <param name="Name">The part of a feature's name before the first slash.</param>
/// <param name="Unit">UCUM, as in the signal catalogue; empty for a ratio or a count.</param>
/// <param name="IsWatched">Has control charts of its own. Others are evidence, or are watched through an index made of several.</param>
/// <param name="Worse">Which direction is the bad one.</param>
/// <param name="Title">For people: what it is, without the unit.</param>
public sealed record FeatureFamily(string Name, string Unit, bool IsWatched, Worse Worse, string Title);

/// <summary>Every family of figures that a cycle can have.</summary>
public static class FeatureCatalogue
{
    public static IReadOnlyList<FeatureFamily> All { get; } =
    [
        new("phase-time", "s", false, Worse.Either, "time in the phase"),
        new("step-time", "s", false, Worse.Either, "time in the step"),
        new("step-excess", "s", false, Worse.Either, "time in the step beyond its setpoint"),
        new("timing", "s", true, Worse.Either, "mean time of timed steps beyond their setpoints"),
        new("drain-time", "s", false, Worse.Higher, "drain time"),
        new("drain-bounce", "", true, Worse.Higher, "changes of the drain sensor in a drain, beyond the first to dry"),
        new("drain-wet-before", "", true, Worse.Higher, "share of the time before the first liquid in which the drain sensor read wet"),
        new("drain-unfinished", "", false, Worse.Higher, "drains in which the sensor never read dry"),
        new("liquid", "L", false, Worse.Either, "liquid delivered to each keg before the drain"),
        new("spray-time", "s", false, Worse.Either, "time of the sprays before the drain, where no flow is measured"),
        new("temperature-mean", "Cel", true, Worse.Lower, "mean temperature"),
        new("temperature-minimum", "Cel", false, Worse.Lower, "lowest temperature"),
        new("temperature-above", "s", false, Worse.Lower, "time at or above the recipe's temperature"),
        new("temperature-return", "Cel", true, Worse.Lower, "temperature of what left the keg at the end of the drain"),
        new("heat-up-rate", "K/min", true, Worse.Lower, "rise of temperature while the heater was on"),
        new("heater-time", "s", true, Worse.Higher, "time the heater was on"),
        new("strength", "mS/cm", true, Worse.Lower, "mean conductivity of the bath in its phase"),
        new("level", "%", false, Worse.Lower, "mean level of the bath"),
        new("spray-pressure", "bar(a)", true, Worse.Lower, "mean pressure during spray"),
        new("spray-current", "A", true, Worse.Either, "mean motor current during spray"),
        new("spray-flow", "L/min", true, Worse.Lower, "mean flow during spray"),
        new("water-pressure", "bar(a)", true, Worse.Lower, "mean water pressure"),
        new("air-pressure", "bar(a)", true, Worse.Lower, "mean pressure of the control air"),
        new("co2-rest", "bar(a)", true, Worse.Lower, "CO2 supply pressure at rest"),
        new("co2-flow", "bar(a)", true, Worse.Lower, "lowest CO2 supply pressure of a fill, mean of all fills"),
        new("dosing-time", "s", true, Worse.Higher, "time the dosing pump ran since the cycle before"),
        new("dosing-response", "mS/cm/s", true, Worse.Lower, "rise of conductivity for a second of dosing"),
        new("rinse-out", "", true, Worse.Higher, "conductivity at the end of the rinse, as a share of the bath's before it"),
        new("purge-high", "bar(a)", true, Worse.Lower, "mean of the highest pressures of the purge swings"),
        new("purge-low", "bar(a)", true, Worse.Higher, "mean of the lowest pressures of the purge swings"),
        new("purge-rise", "s", true, Worse.Higher, "time to half of the pressure rise of a purge swing"),
        new("water-per-keg", "L", false, Worse.Higher, "water for each keg"),
        new("chemical-per-keg", "s", false, Worse.Higher, "seconds of dosing for each keg"),
        new("co2-per-keg", "bar", false, Worse.Higher, "sum of the pressure rises by CO2 for each keg; times the keg's volume it is gas at 1 bar"),
        new("energy-per-keg", "s", false, Worse.Higher, "seconds of heating for each keg; times the heater's power it is energy"),
        new("drain-valve-use", "", false, Worse.Either, "times the drain valve opened"),
        new("pump-run-time", "s", false, Worse.Either, "run time of the spray pump"),
        new("kegs", "", false, Worse.Either, "kegs in the cycle"),
        new("dosing-rest", "s", false, Worse.Either, "time since dosing ended: chemical stands in the line"),
    ];

    private static readonly Dictionary<string, FeatureFamily> ByName = All.ToDictionary(f => f.Name, StringComparer.Ordinal);

    /// <summary>The family of a feature's name (or of its key), or null.</summary>
    public static FeatureFamily? Find(string name) => ByName.GetValueOrDefault(Feature.FamilyOf(name).Split('@')[0]);
}
