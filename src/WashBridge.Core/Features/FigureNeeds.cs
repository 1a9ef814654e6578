using WashBridge.Core.Cycles;
using WashBridge.Core.Verdicts;

namespace WashBridge.Core.Features;

/// <summary>Whether a washer's map lets a family of figures be measured.</summary>
/// <param name="Family">As in <see cref="FeatureCatalogue"/>.</param>
/// <param name="Of">The bath, <c>water</c>, or empty.</param>
/// <param name="Missing">Signals that the map lacks, as <c>drain.dry of station 3</c>; empty: it can be measured at every station.</param>
public sealed record FigureReach(string Family, string Of, IReadOnlyList<string> Missing)
{
    public bool IsReached => Missing.Count == 0;
}

/// <summary>Which signals each family of figures is measured from: FEATURES.md as a table. Tells before the first cycle what the analysis will have to work with.</summary>
public static class FigureNeeds
{
    private static readonly (PhaseKind Phase, string Bath)[] Baths = [(PhaseKind.CausticWash, "caustic"), (PhaseKind.AcidWash, "acid"), (PhaseKind.Sanitise, "sanitiser")];

    private static readonly (string Family, string[] Signals)[] OfWasher =
    [
        ("phase-time", []),
        ("step-time", []),
        ("step-excess", ["setpoint.*"]),
        ("timing", ["setpoint.*"]),
        ("drain-time", ["drain.dry"]),
        ("drain-bounce", ["drain.dry"]),
        ("drain-wet-before", ["drain.dry"]),
        ("drain-unfinished", ["drain.dry"]),
        ("liquid", ["flow.supply"]),
        ("water-per-keg", ["flow.supply"]),
        ("spray-flow", ["flow.supply"]),
        ("temperature-return", ["temperature.return"]),
        ("spray-pressure", ["pressure.spray"]),
        ("spray-current", ["current.spray-pump"]),
        ("water-pressure", ["pressure.water"]),
        ("air-pressure", ["pressure.air"]),
        ("co2-rest", ["pressure.co2"]),
        ("co2-flow", ["pressure.co2"]),
        ("purge-high", ["pressure.keg"]),
        ("purge-low", ["pressure.keg"]),
        ("purge-rise", ["pressure.keg"]),
        ("co2-per-keg", ["pressure.keg"]),
        ("drain-valve-use", []),
        ("pump-run-time", []),
        ("kegs", []),
    ];

    private static readonly (string Family, string[] Signals)[] OfEachBath =
    [
        ("temperature-mean", ["temperature.{0}"]),
        ("temperature-minimum", ["temperature.{0}"]),
        ("strength", ["conductivity.{0}"]),
        ("level", ["level.{0}"]),
        ("dosing-time", ["dosing.{0}"]),
        ("dosing-rest", ["dosing.{0}"]),
        ("chemical-per-keg", ["dosing.{0}"]),
        ("dosing-response", ["dosing.{0}", "conductivity.{0}"]),
        ("rinse-out", ["conductivity.return", "conductivity.{0}"]),
    ];

    /// <summary>Only the caustic bath has a heater in the catalogue.</summary>
    private static readonly (string Family, string[] Signals)[] OfHeater =
    [
        ("heater-time", ["heater.caustic"]),
        ("energy-per-keg", ["heater.caustic"]),
        ("heat-up-rate", ["heater.caustic", "temperature.caustic"]),
    ];

    /// <summary>The washer's families first, then those of its baths.</summary>
    public static IReadOnlyList<FigureReach> Of(WasherModel washer)
    {
        ArgumentNullException.ThrowIfNull(washer);
        var baths = BathsOf(washer);
        return
        [
            .. OfWasher.Select(f => Reach(f.Family, "", f.Signals, washer)),
            Reach("spray-pressure", "water", ["pressure.water"], washer),
            .. baths.SelectMany(bath => OfEachBath.Select(f => Reach(f.Family, bath, [.. f.Signals.Select(s => s.Replace("{0}", bath, StringComparison.Ordinal))], washer))),
            .. baths.Contains("caustic") ? OfHeater.Select(f => Reach(f.Family, "caustic", f.Signals, washer)) : [],
        ];
    }

    /// <summary>The baths that the programme uses.</summary>
    public static IReadOnlyList<string> BathsOf(WasherModel washer)
    {
        ArgumentNullException.ThrowIfNull(washer);
        return [.. Baths.Where(b => washer.Programme.Any(p => p.Kind == b.Phase)).Select(b => b.Bath)];
    }

    private static FigureReach Reach(string family, string of, string[] signals, WasherModel washer) => new(family, of, [.. signals.SelectMany(s => Missing(s, washer))]);

    private static IEnumerable<string> Missing(string signal, WasherModel washer) => signal.EndsWith(".*", StringComparison.Ordinal)
        ? washer.Signals.Any(s => s.Name.StartsWith(signal[..^1], StringComparison.Ordinal)) ? [] : [signal]
        : Judgeability.MissingOf(signal, washer);
}
