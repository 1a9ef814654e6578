using WashBridge.Core.Time;
using WashBridge.Core.Verdicts.Calculations;

namespace WashBridge.Core.Verdicts;

/// <summary>What was measured for one requirement: an interval that holds the truth, and what is known of where in it the truth lies.</summary>
/// <param name="Lower">In <paramref name="Unit"/>.</param>
/// <param name="Upper">In <paramref name="Unit"/>; null: open.</param>
/// <param name="Unit">UCUM-like.</param>
internal sealed record Measurement(double Lower, double? Upper, string Unit)
{
    public double? Estimate { get; init; }

    public double? StandardUncertainty { get; init; }

    /// <summary>The probability that the truth is at least the given value; null where no distribution is known, as for counts and for what was not seen.</summary>
    public Func<double, double>? ProbabilityAtLeast { get; init; }

    /// <summary>Nobody saw what was to be measured: it proves neither enough nor little enough.</summary>
    public bool IsUnseen { get; init; }

    public static Measurement Count(int lower, int? upper) => new(lower, upper, "");

    /// <summary>
    /// An interval of which nothing says where in it the truth lies. The estimate is its middle and the uncertainty that of a rectangular
    /// distribution (GUM 4.3.7), for the reader only: an interval widened by what was not read has no distribution to take a risk on.
    /// </summary>
    public static Measurement Within(double lower, double? upper, string unit) => new(lower, upper, unit)
    {
        Estimate = (lower + upper) / 2,
        StandardUncertainty = upper is { } top ? DurationUncertainty.OfEdges(top - lower, 0) : null,
    };

    /// <summary>
    /// The time from one edge to another. Where <paramref name="bounds"/> is what the edges alone give, each edge is rectangular within its
    /// bounds and their difference a trapezoid; where more is unknown (a gap between them, a pause), only the interval counts.
    /// </summary>
    public static Measurement BetweenEdges(Edge from, Edge to, DurationBounds bounds)
    {
        var (lower, upper) = (bounds.Lower.TotalSeconds, bounds.Upper.TotalSeconds);
        if (!bounds.IsUpperKnown || bounds.Lower == TimeSpan.Zero || bounds != from.Until(to))
        {
            return new Measurement(lower, bounds.IsUpperKnown ? upper : null, "s");
        }

        var fromWidth = (from.Latest.Steady - from.Earliest.Steady).TotalSeconds;
        var toWidth = (to.Latest.Steady - to.Earliest.Steady).TotalSeconds;
        var estimate = (lower + upper) / 2;
        return new Measurement(lower, upper, "s")
        {
            Estimate = estimate,
            StandardUncertainty = DurationUncertainty.OfEdges(fromWidth, toWidth),
            ProbabilityAtLeast = limit => ConformanceProbability.AtLeast(limit, estimate, fromWidth, toWidth),
        };
    }

    /// <summary>The sum of independent measurements; its distribution is taken as normal when there are several (GUM G.2).</summary>
    public static Measurement Sum(IReadOnlyList<Measurement> parts, string unit)
    {
        if (parts.Count == 1)
        {
            return parts[0];
        }

        var lower = parts.Sum(p => p.Lower);
        double? upper = parts.All(p => p.Upper is not null) ? parts.Sum(p => p.Upper!.Value) : null;
        if (upper is null || parts.Any(p => p.ProbabilityAtLeast is null))
        {
            return new Measurement(lower, upper, unit) { IsUnseen = parts.Any(p => p.IsUnseen) };
        }

        var estimate = parts.Sum(p => p.Estimate!.Value);
        var uncertainty = Math.Sqrt(parts.Sum(p => p.StandardUncertainty!.Value * p.StandardUncertainty!.Value));
        return new Measurement(lower, upper, unit)
        {
            Estimate = estimate,
            StandardUncertainty = uncertainty,
            ProbabilityAtLeast = limit => ConformanceProbability.AtLeast(limit, estimate, uncertainty),
        };
    }

    /// <summary>The same without a lower bound and a best estimate: for what nobody saw.</summary>
    public Measurement NotSeen() => new(0, Upper, Unit) { IsUnseen = true };

    public Measurement OpenAbove() => new(Lower, null, Unit);
}
