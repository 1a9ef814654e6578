using WashBridge.Core.Features;

namespace WashBridge.Analysis.Charts;

/// <summary>How figures of a family are charted.</summary>
/// <param name="Block">Cycles whose mean is one value of the chart; 1: every cycle is.</param>
/// <param name="Least">The smallest change that is told, in the family's unit: less is within what the sensor itself may be off by, or means nothing to anybody.</param>
/// <param name="LeastShare">The same as a share of the reference's centre.</param>
internal sealed record FigureManner(int Block, double Least, double LeastShare = 0)
{
    // Some swings of a heater or of a dosing pump: in a mean of so many cycles it no longer matters where in its swing the control loop was.
    private const int Slow = 50;

    // What polls see of a swing of pressure, or of a short spray, depends on when they come: some cycles together do not.
    private const int Swing = 10;
    private const int Spray = 5;

    private static readonly FigureManner Plain = new(1, 0);

    // Temperatures: tolerance class A of IEC 60751 at 70 Cel (0.15 + 0.002 |t|; value from memory). The others: common practice, no source.
    private static readonly Dictionary<string, FigureManner> ByFamily = new(StringComparer.Ordinal)
    {
        [Indices.DrainIndex.Name] = new(1, 0.03),
        ["timing"] = new(1, 0.1),
        ["drain-bounce"] = new(1, 0.1),
        ["drain-wet-before"] = new(1, 0.05),
        ["temperature-mean"] = new(Slow, 0.3),
        ["temperature-return"] = new(Slow, 1),
        ["heat-up-rate"] = new(Slow, 0, 0.25),
        ["heater-time"] = new(Slow, 0, 0.1),
        ["strength"] = new(Slow, 0, 0.02),
        ["dosing-time"] = new(Slow, 0, 0.1),
        ["dosing-response"] = new(Slow, 0, 0.1),
        ["rinse-out"] = new(Slow, 0.02),
        ["spray-pressure"] = new(Spray, 0.05),
        ["spray-current"] = new(Spray, 0, 0.02),
        ["spray-flow"] = new(Spray, 0, 0.02),
        ["water-pressure"] = new(1, 0.1),
        ["air-pressure"] = new(1, 0.1),
        ["co2-rest"] = new(1, 0.05),
        ["co2-flow"] = new(Swing, 0.05),
        ["purge-high"] = new(Swing, 0.05),
        ["purge-low"] = new(Swing, 0.05),
        ["purge-rise"] = new(Swing, 0.1),

        // Have no charts, but are compared with peers.
        ["drain-time"] = new(1, 0.2, 0.03),
        ["water-per-keg"] = new(1, 0, 0.03),
        ["chemical-per-keg"] = new(1, 0, 0.1),
        ["co2-per-keg"] = new(1, 0, 0.03),
        ["energy-per-keg"] = new(1, 0, 0.1),
    };

    public static FigureManner Of(string name) => ByFamily.GetValueOrDefault(Feature.FamilyOf(name), Plain);

    public bool IsWorthTelling(double size, double centre) => Math.Abs(size) >= Math.Max(Least, LeastShare * Math.Abs(centre));
}
