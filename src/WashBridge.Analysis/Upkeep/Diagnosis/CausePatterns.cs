namespace WashBridge.Analysis.Upkeep.Diagnosis;

/// <summary>
/// The causes that are compared, by what they concern. Directions follow from how such a machine works; the tolerances say how surely
/// (common practice, no source).
/// </summary>
public static class CausePatterns
{
    private const double Sure = 0.3;
    private const double Likely = 0.5;
    private const double Maybe = 0.7;

    /// <summary>One station takes longer to drain.</summary>
    public static IReadOnlyList<CausePattern> Drain { get; } =
    [
        CausePattern.Of("clogging-valve", "the drain valve clogs", 1,
            ("drain", 1, Sure), ("others", 0, Likely), ("alike", 0, Sure), ("shape", 1, Sure), ("scatter", 0, Sure), ("bounce", 0, Sure), ("wet-before", 0, Likely), ("air", 0, Sure), ("liquid", 0, Likely), ("by-liquid", 0, Sure)),
        CausePattern.Of("sticking-sensor", "the drain sensor sticks or is dirty", 1,
            ("drain", 1, Sure), ("others", 0, Likely), ("alike", 0, Sure), ("shape", 0, Sure), ("scatter", 0.9, Likely), ("bounce", 0.8, Likely), ("wet-before", 0.2, Likely), ("air", 0, Sure), ("liquid", 0, Likely), ("by-liquid", 0, Sure)),
        CausePattern.Of("low-air", "the control air is low, so that valves open slowly or not wholly", 1,
            ("drain", 0.8, Likely), ("others", 0.5, Likely), ("alike", 1, Likely), ("bounce", 0, Likely), ("air", -1, Sure), ("liquid", 0, Likely), ("by-liquid", 0, Likely)),
        CausePattern.Of("common-drain", "what all stations drain into is blocked or backs up", 0.3,
            ("drain", 1, Sure), ("others", 0.5, Likely), ("alike", 1, Sure), ("shape", 1, Likely), ("scatter", 0, Likely), ("bounce", 0, Likely), ("air", 0, Sure), ("liquid", 0, Likely), ("by-liquid", 0, Sure)),
        CausePattern.Of("more-liquid", "more liquid is put into the kegs", 1,
            ("drain", 0, Sure), ("others", 0, Sure), ("bounce", 0, Likely), ("air", 0, Sure), ("liquid", 1, Sure), ("by-liquid", 1, Sure)),
    ];

    /// <summary>The baths are sprayed with less pressure.</summary>
    public static IReadOnlyList<CausePattern> Spray { get; } =
    [
        CausePattern.Of("worn-pump", "the spray pump wears", 1, ("head", -1, Sure), ("flow", -1, Likely), ("current", -0.6, Likely), ("level", 0, Likely)),
        CausePattern.Of("blocked-nozzle", "a spray nozzle or its filter is blocked", 0.5, ("head", 0.8, Likely), ("flow", -1, Sure), ("current", -0.5, Likely), ("level", 0, Likely)),
        CausePattern.Of("low-level", "the bath is so low that the pump draws air", 0.5, ("head", -1, Likely), ("flow", -1, Likely), ("current", -0.8, Likely), ("level", -1, Sure)),
    ];

    /// <summary>
    /// A chemical is dosed, and its bath. A line holds what takes at most about half of a usual dosing to fill (common practice, no source): what is longer than that speaks of the tube.
    /// Below that the two look alike, as long as the line stands equally long before each dosing.
    /// </summary>
    public static IReadOnlyList<CausePattern> Dosing { get; } =
    [
        CausePattern.Of("dosing-tube", "the tube of the dosing pump tires", 1,
            ("response", -1, Likely), ("drawn", 0, Likely), ("rest", 0.1, Maybe), ("time", 1, Likely), ("longer", 0.5, 0.35), ("strength", 0, Likely)),
        CausePattern.Of("check-valve", "the check valve of the dosing line leaks, so that the line empties while it stands", 1,
            ("response", -1, Likely), ("drawn", 0, Likely), ("rest", 0.4, Maybe), ("time", 1, Likely), ("longer", 0.32, 0.17), ("strength", 0, Likely)),
        CausePattern.Of("weak-bath", "the bath has become weak and is not dosed up", 1,
            ("response", 0, Likely), ("rest", 0, Likely), ("time", -0.2, Maybe), ("longer", 0, Sure), ("strength", -1, Sure)),
        CausePattern.Of("more-chemical-drawn", "more of the chemical is carried out of the bath", 0.5,
            ("response", 0, Sure), ("drawn", 1, Sure), ("rest", 0, Likely), ("time", 1, Sure), ("longer", 0.3, Sure), ("strength", 0, Likely)),
    ];

    /// <summary>A bath is heated.</summary>
    public static IReadOnlyList<CausePattern> Heating { get; } =
    [
        CausePattern.Of("heater", "the heater is scaled or an element is dead", 1, ("rate", -1, Sure), ("time", 0.9, Likely), ("temperature", -0.3, Maybe)),
        CausePattern.Of("more-heat-drawn", "more heat is carried out of the bath", 0.5, ("rate", 0, Likely), ("time", 1, Likely), ("temperature", -0.3, Maybe)),
        CausePattern.Of("setpoint-lower", "the bath is kept cooler", 0.5, ("rate", 0.2, Likely), ("time", -0.5, Likely), ("temperature", -1, Sure)),
    ];

    /// <summary>The gas supply.</summary>
    public static IReadOnlyList<CausePattern> Gas { get; } =
    [
        CausePattern.Of("low-co2", "the CO2 supply is low", 1, ("rest", -1, Sure), ("flow", -1, Likely), ("rise", 0.7, Likely), ("high", -0.4, Maybe)),
        CausePattern.Of("restricted-gas", "the gas line is restricted", 0.5, ("rest", 0, Sure), ("flow", -0.3, Maybe), ("rise", 1, Sure), ("high", -0.4, Maybe)),
    ];
}
