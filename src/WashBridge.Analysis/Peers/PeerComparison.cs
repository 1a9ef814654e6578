using MathNet.Numerics.Distributions;
using MathNet.Numerics.Statistics;
using WashBridge.Analysis.Charts;
using WashBridge.Core.Features;

namespace WashBridge.Analysis.Peers;

/// <summary>
/// Compares washers with washers, and stations with the stations of the same washer, over their latest cycles. It answers another question than the charts: not whether one
/// has changed, but whether one is unlike the rest, which a machine that was never right would hide from its own reference.
/// </summary>
public static class PeerComparison
{
    /// <summary>What counts as rare, for one figure over all its peers.</summary>
    public const double Rare = 0.01;

    /// <summary>Fewer cycles give no median worth comparing.</summary>
    public const int LeastCycles = 20;

    /// <summary>Among fewer washers nobody can tell how much washers differ by nature. Stations of several washers help each other: see <see cref="LeastFreedom"/>.</summary>
    public const int LeastWashers = LeastFreedom + 2;

    /// <summary>Degrees of freedom that the spread between peers must have, when the one that is looked at is left out.</summary>
    private const int LeastFreedom = 2;

    private const double Clear = 3;

    /// <param name="cycles">By washer, the latest cycles in order. Washers with as many stations are peers of one another.</param>
    /// <returns>By figure, then washers before stations, by name; what nobody else has is left out.</returns>
    public static IReadOnlyList<PeerStanding> Of(IReadOnlyDictionary<string, IReadOnlyList<CycleFeatures>> cycles)
    {
        ArgumentNullException.ThrowIfNull(cycles);
        var size = cycles.ToDictionary(w => w.Key, w => w.Value.Select(c => c.Kegs.Count).DefaultIfEmpty(0).Max(), StringComparer.Ordinal);
        return [.. cycles.OrderBy(w => w.Key, StringComparer.Ordinal)
            .SelectMany(w => PeerSeries.Of(w.Key, w.Value))
            .GroupBy(s => s.Figure)
            .OrderBy(f => f.Key.Name, StringComparer.Ordinal).ThenBy(f => f.Key.Recipe, StringComparer.Ordinal).ThenBy(f => f.Key.IsOfStations)
            .SelectMany(f => Washers(f, size).Concat(Compare(f.Key, [.. f.Select(s => s.OfStations())])))];
    }

    private static IEnumerable<PeerStanding> Washers(IGrouping<PeerFigure, PeerSeries> figure, Dictionary<string, int> size) => figure
        .Select(s => s.OfWasher()).OfType<PeerLevel>()
        .GroupBy(l => size[l.Washer]).OrderBy(g => g.Key)
        .SelectMany(g => Compare(figure.Key, [[.. g]]));

    /// <param name="figure">Which.</param>
    /// <param name="groups">Those within a group are peers; how much peers differ by nature is the same in all groups.</param>
    private static IEnumerable<PeerStanding> Compare(PeerFigure figure, IReadOnlyList<IReadOnlyList<PeerLevel>> groups)
    {
        var compared = groups.Where(g => g.Count > 1).ToList();
        foreach (var group in compared)
        {
            foreach (var one in group)
            {
                var others = group.Where(p => p != one).ToList();
                var difference = one.Level - others.Select(o => o.Level).Median();
                var uncertainty = Math.Sqrt(Square(one.Uncertainty) + (others.Sum(o => Square(o.Uncertainty)) / Square(others.Count)));
                var probability = Chance(one, others, compared, group);
                var isClear = Math.Abs(difference) > Clear * uncertainty && FigureManner.Of(figure.Name).IsWorthTelling(difference, one.Median - difference);
                yield return new PeerStanding
                {
                    Washer = one.Washer, Station = one.Station, Feature = figure.Name, Recipe = figure.Recipe, Unit = FeatureCatalogue.Find(figure.Name)?.Unit ?? "",
                    Cycles = one.Cycles, Median = one.Median, Difference = difference, Uncertainty = uncertainty, Peers = group.Count, Probability = probability,
                    State = !isClear ? PeerState.Alike : probability is null ? PeerState.TooFewPeers : probability < Rare ? PeerState.StandsOut : PeerState.Alike,
                };
            }
        }
    }

    /// <summary>
    /// One value against the rest of a small normal sample that leaves it out: the externally studentised residual of a one-way layout, which for a single group is the test of
    /// Grubbs (1950), times the number of all that are compared, because the most unlike of all is looked at. Null: too few to tell.
    /// </summary>
    private static double? Chance(PeerLevel one, List<PeerLevel> others, List<IReadOnlyList<PeerLevel>> groups, IReadOnlyList<PeerLevel> group)
    {
        var rest = groups.Where(g => g != group).Append(others).ToList();
        var freedom = rest.Sum(g => g.Count - 1);
        if (freedom < LeastFreedom)
        {
            return null;
        }

        var distance = Math.Abs(one.Level - others.Average(o => o.Level));
        var spread = Math.Sqrt((rest.Sum(Squares) / freedom) + Square(one.Uncertainty));
        return spread == 0
            ? distance == 0 ? 1 : 0
            : Math.Min(1, groups.Sum(g => g.Count) * 2 * StudentT.CDF(0, 1, freedom, -distance / (spread * Math.Sqrt(1 + (1.0 / others.Count)))));
    }

    private static double Squares(IReadOnlyList<PeerLevel> group)
    {
        var mean = group.Average(p => p.Level);
        return group.Sum(p => Square(p.Level - mean));
    }

    private static double Square(double value) => value * value;
}
