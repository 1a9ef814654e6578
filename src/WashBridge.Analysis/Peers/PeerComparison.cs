using MathNet.Numerics.Distributions;
using MathNet.Numerics.Statistics;
using WashBridge.Core.Features;

namespace WashBridge.Analysis.Peers;

/// <summary>
/// Compares washers, and stations, with their peers over the latest cycles. It answers another question than the charts: not whether one has changed,
/// but whether one is unlike the rest, which a machine that was never right would hide from its own reference.
/// </summary>
public static class PeerComparison
{
    /// <summary>What counts as rare, for one figure over all its peers.</summary>
    internal const double Rare = 0.01;

    /// <summary>Fewer cycles give no median worth comparing.</summary>
    private const int LeastCycles = 20;

    /// <summary>Fewer peers do not tell how much peers differ by nature.</summary>
    private const int LeastPeers = 4;

    /// <summary>Standard error of a median over that of a mean, for a normal distribution: root of pi / 2.</summary>
    private static readonly double MedianPenalty = Math.Sqrt(Math.PI / 2);

    /// <param name="cycles">By washer, the latest cycles in order; all washers run comparable programmes.</param>
    /// <returns>By figure, then washer and station; figures that only one has are left out.</returns>
    public static IReadOnlyList<PeerStanding> Of(IReadOnlyDictionary<string, IReadOnlyList<CycleFeatures>> cycles)
    {
        ArgumentNullException.ThrowIfNull(cycles);
        return [.. cycles
            .SelectMany(washer => washer.Value
                .SelectMany(c => c.Figures)
                .Where(f => FeatureCatalogue.Find(f.Name) is { IsWatched: true })
                .GroupBy(f => (f.Name, f.Station))
                .Where(values => values.Count() >= LeastCycles)
                .Select(values => Summary.Of(washer.Key, values.Key.Name, values.Key.Station, [.. values.Select(v => v.Value)])))
            .GroupBy(s => s.Feature)
            .Where(peers => peers.Count() > 1)
            .OrderBy(peers => peers.Key, StringComparer.Ordinal)
            .SelectMany(peers => Compare([.. peers.OrderBy(p => p.Who, StringComparer.Ordinal)]))];
    }

    private static IEnumerable<PeerStanding> Compare(IReadOnlyList<Summary> peers)
    {
        foreach (var one in peers)
        {
            var others = peers.Where(p => p != one).ToList();
            var centre = others.Select(o => o.Median).Median();
            var difference = one.Median - centre;
            var uncertainty = Math.Sqrt(Square(one.Uncertainty) + (others.Sum(o => Square(o.Uncertainty)) / Square(others.Count)));
            yield return new PeerStanding(one.Who, one.Feature, FeatureCatalogue.Find(one.Feature)?.Unit ?? "", one.Cycles, one.Median, centre, difference, uncertainty, Chance(one, others, peers.Count));
        }
    }

    /// <summary>
    /// One value against the rest of a small normal sample: Student's t with one degree of freedom less than the others are (Grubbs 1950, in the form that
    /// leaves the one out), times the number of peers, because the most unlike of all is looked at.
    /// </summary>
    private static double? Chance(Summary one, List<Summary> others, int peers)
    {
        if (peers < LeastPeers)
        {
            return null;
        }

        var medians = others.Select(o => o.Median).ToList();
        var spread = Math.Sqrt(medians.Variance() + Square(one.Uncertainty));
        if (spread == 0)
        {
            return one.Median == medians[0] ? 1 : 0;
        }

        var t = Math.Abs(one.Median - medians.Mean()) / (spread * Math.Sqrt(1 + (1.0 / others.Count)));
        return Math.Min(1, peers * 2 * StudentT.CDF(0, 1, others.Count - 1, -t));
    }

    private static double Square(double value) => value * value;

    private sealed record Summary(string Who, string Feature, int Cycles, double Median, double Uncertainty)
    {
        public static Summary Of(string washer, string feature, int station, double[] values)
        {
            var deviation = 1.4826 * values.Select(v => Math.Abs(v - values.Median())).Median();

            // Where more than half of the values are the same the median deviation is zero, though they scatter.
            deviation = deviation > 0 ? deviation : values.StandardDeviation();
            return new Summary(station == 0 ? washer : $"{washer}@{station}", feature, values.Length, values.Median(), MedianPenalty * deviation / Math.Sqrt(EffectiveNumber(values)));
        }

        /// <summary>Values that hang together count for fewer: n (1 - r) / (1 + r) by their lag-one correlation r, where that is above zero.</summary>
        private static double EffectiveNumber(double[] values)
        {
            var mean = values.Mean();
            var all = values.Sum(v => Square(v - mean));
            var lagged = values.Skip(1).Zip(values, (a, b) => (a - mean) * (b - mean)).Sum();
            var correlation = all > 0 ? Math.Clamp(lagged / all, 0, 0.98) : 0;
            return Math.Max(1, values.Length * (1 - correlation) / (1 + correlation));
        }
    }
}
