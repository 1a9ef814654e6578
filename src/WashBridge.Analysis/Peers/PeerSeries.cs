using MathNet.Numerics.Statistics;
using WashBridge.Analysis.Charts;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;

namespace WashBridge.Analysis.Peers;

/// <summary>What makes figures comparable: the same name, under the same recipe where that matters, of the washer or of its stations.</summary>
internal readonly record struct PeerFigure(string Name, string? Recipe, bool IsOfStations);

/// <summary>One figure of one washer over its cycles.</summary>
/// <param name="washer">Whose.</param>
/// <param name="figure">Which.</param>
internal sealed class PeerSeries(string washer, PeerFigure figure)
{
    // Have no charts of their own, but tell what one washer or station uses or takes against another.
    private static readonly HashSet<string> NotCharted = new(StringComparer.Ordinal) { "drain-time", "water-per-keg", "chemical-per-keg", "co2-per-keg", "energy-per-keg" };

    // Depend on how long loading took and how many kegs there were: for each keg they are compared.
    private static readonly HashSet<string> NotCompared = new(StringComparer.Ordinal) { "heater-time", "dosing-time" };

    private readonly SortedDictionary<int, List<(int Cycle, double Value)>> _stations = [];

    public PeerFigure Figure => figure;

    /// <summary>All figures of a washer that can be compared.</summary>
    public static IEnumerable<PeerSeries> Of(string washer, IReadOnlyList<CycleFeatures> cycles)
    {
        var all = new Dictionary<PeerFigure, PeerSeries>();
        foreach (var (cycle, number) in cycles.Select((c, i) => (c, i)).Where(c => c.c.Outcome == CycleOutcome.Completed))
        {
            var recipe = $"{cycle.Recipe} {cycle.RecipeVersion}";
            foreach (var value in cycle.Figures.Where(f => IsCompared(f.Family)))
            {
                var figure = new PeerFigure(value.Name, RecipeDependence.Of(value.Name) ? recipe : null, value.Station > 0);
                if (!all.TryGetValue(figure, out var series))
                {
                    all.Add(figure, series = new PeerSeries(washer, figure));
                }

                series.Add(number, value);
            }
        }

        return all.Values;
    }

    /// <summary>The washer's level; of a figure of stations that of the middle one. Null: too few cycles.</summary>
    public PeerLevel? OfWasher()
    {
        var values = Rows().Select(r => r.Median()).ToArray();
        return values.Length < PeerComparison.LeastCycles ? null : PeerLevel.Of(washer, 0, values, values);
    }

    /// <summary>The levels of its stations among one another; empty where there is only one, or too few cycles with all of them.</summary>
    public IReadOnlyList<PeerLevel> OfStations()
    {
        var (rows, stations) = (Rows(), Regular());
        return !figure.IsOfStations || stations.Count < 2 || rows.Count < PeerComparison.LeastCycles
            ? []
            : [.. stations.Select((s, i) => PeerLevel.Of(washer, s, [.. rows.Select(r => r[i])], [.. rows.Select(r => r[i] - r.Mean())]))];
    }

    private static bool IsCompared(string family) => NotCharted.Contains(family) || (FeatureCatalogue.Find(family) is { IsWatched: true } && !NotCompared.Contains(family));

    private void Add(int cycle, Feature value)
    {
        if (!_stations.TryGetValue(value.Station, out var values))
        {
            _stations.Add(value.Station, values = []);
        }

        values.Add((cycle, value.Value));
    }

    /// <summary>Stations that mostly have the figure when others have it: one that is rarely loaded must not take the other's cycles away.</summary>
    private List<int> Regular()
    {
        var most = _stations.Values.Max(v => v.Count);
        return [.. _stations.Where(s => 2 * s.Value.Count >= most).Select(s => s.Key)];
    }

    /// <summary>The values of the regular stations, in their order, of every cycle that has them all.</summary>
    private List<double[]> Rows()
    {
        var stations = Regular();
        return [.. stations.SelectMany(s => _stations[s]).GroupBy(v => v.Cycle).Where(c => c.Count() == stations.Count).OrderBy(c => c.Key).Select(c => c.Select(v => v.Value).ToArray())];
    }
}
