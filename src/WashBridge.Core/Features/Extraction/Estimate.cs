using WashBridge.Core.Time;
using WashBridge.Core.Verdicts.Calculations;

namespace WashBridge.Core.Features.Extraction;

/// <summary>A value and its standard uncertainty after the GUM.</summary>
internal readonly record struct Estimate(double Value, double Uncertainty)
{
    public static Estimate Exact(double value) => new(value, 0);

    /// <summary>
    /// From one edge to another in s, each anywhere within its bounds (JCGM 100:2008, 4.3.7); null where a bound is unknown.
    /// </summary>
    public static Estimate? Duration(Edge from, Edge to)
    {
        if (!from.Earliest.IsKnown || !to.Latest.IsKnown || from.Earliest.Epoch != to.Latest.Epoch || from.Latest.Epoch != to.Earliest.Epoch || from.Latest.Epoch != from.Earliest.Epoch)
        {
            return null;
        }

        var (a, b) = (Stamp.Of(from), Stamp.Of(to));
        return new Estimate((b.Middle - a.Middle) / 1e6, DurationUncertainty.OfEdges(WidthOf(from), WidthOf(to)));
    }

    /// <summary>The mean of independent values; null of none.</summary>
    public static Estimate? Mean(IReadOnlyList<Estimate> parts) => parts.Count == 0 ? null : Sum(parts).Times(1.0 / parts.Count);

    /// <summary>The sum of independent values.</summary>
    public static Estimate Sum(IReadOnlyList<Estimate> parts)
    {
        var (value, variance) = (0.0, 0.0);
        foreach (var part in parts)
        {
            value += part.Value;
            variance += part.Uncertainty * part.Uncertainty;
        }

        return new Estimate(value, Math.Sqrt(variance));
    }

    public Estimate Times(double factor) => new(Value * factor, Uncertainty * Math.Abs(factor));

    /// <summary>The quotient of independent values (JCGM 100:2008, 5.1.2).</summary>
    public Estimate Over(Estimate divisor)
    {
        var ratio = Value / divisor.Value;
        var (a, b) = (Uncertainty / divisor.Value, ratio * divisor.Uncertainty / divisor.Value);
        return new Estimate(ratio, Math.Sqrt((a * a) + (b * b)));
    }

    private static double WidthOf(Edge edge) => (edge.Latest.Steady.UnixMicroseconds - edge.Earliest.Steady.UnixMicroseconds) / 1e6;
}
