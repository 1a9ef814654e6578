namespace WashBridge.Analysis.Upkeep.Forecasting;

/// <summary>
/// A scale in which wear may run straight (Box and Cox 1964): of the ratio to the reference, a power. Power 1: equal steps; 0: equal shares;
/// -1: what shrinks straight is the inverse, as the opening of a valve that clogs. Always turned so that wear rises from 0.
/// </summary>
/// <param name="Power">Of the ratio.</param>
/// <param name="Prior">Belief before any value.</param>
internal readonly record struct WearScale(double Power, double Prior)
{
    /// <summary>For an index with a natural zero.</summary>
    public static IReadOnlyList<WearScale> Ratios { get; } = [new(2, 0.05), new(1, 0.25), new(0, 0.25), new(-1, 0.2), new(-2, 0.15), new(-4, 0.1)];

    /// <summary>How much likelier the natural scale is than it would be otherwise: a choice, no source.</summary>
    private const double Natural = 4;

    /// <summary>The ratios, where it is known how the index comes from what wears.</summary>
    public static IReadOnlyList<WearScale> RatiosOf(double? naturalPower) =>
        naturalPower is { } power ? [.. Ratios.Select(s => s.Power == power ? s with { Prior = Natural * s.Prior } : s)] : Ratios;

    /// <summary>For an index that may be 0 or negative.</summary>
    public static IReadOnlyList<WearScale> Plain { get; } = [new(1, 1)];

    public double Of(double ratio) => Power switch
    {
        1 => ratio - 1,
        0 => Math.Log(ratio),
        -1 => 1 - (1 / ratio),
        2 => 0.5 * ((ratio * ratio) - 1),
        _ => (Math.Pow(ratio, Power) - 1) / Power,
    };

    public double Inverse(double value) => Power switch
    {
        0 => Math.Exp(value),
        _ => Math.Pow(Math.Max(1e-9, 1 + (Power * value)), 1 / Power),
    };

    /// <summary>By how much a small change of the ratio is stretched.</summary>
    public double Stretch(double ratio) => Power switch
    {
        1 => 1,
        0 => 1 / ratio,
        -1 => 1 / (ratio * ratio),
        2 => ratio,
        _ => Math.Pow(ratio, Power - 1),
    };
}
