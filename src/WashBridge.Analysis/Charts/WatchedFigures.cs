using WashBridge.Core.Features;

namespace WashBridge.Analysis.Charts;

/// <summary>The figures of a washer that have charts: found by name, station and kind, and bounded in number.</summary>
internal sealed class WatchedFigures(string washer, Budget budget)
{
    private const int Most = 600;

    private readonly Dictionary<(string Name, int Station, bool IsPeers), WatchedFigure> _figures = [];
    private readonly Dictionary<string, WatchedFigure> _byKey = new(StringComparer.Ordinal);

    // What the catalogue says, kept because every cycle asks for the same names.
    private readonly Dictionary<string, bool> _watched = new(StringComparer.Ordinal);
    private List<(string Name, WatchedFigure[] Stations)>? _ofStations;

    /// <summary>In the order in which they were first seen.</summary>
    public IReadOnlyCollection<WatchedFigure> All => _figures.Values;

    public WatchedFigure this[string key] => _byKey[key];

    public bool IsWatched(string name)
    {
        if (!_watched.TryGetValue(name, out var isWatched))
        {
            isWatched = FeatureCatalogue.Find(name) is { IsWatched: true };
            if (_watched.Count < 4 * Most)
            {
                _watched.Add(name, isWatched);
            }
        }

        return isWatched;
    }

    /// <summary>The figure, made where it is new. Null: there are too many.</summary>
    public WatchedFigure? Of(string name, int station, bool isPeers)
    {
        if (!_figures.TryGetValue((name, station, isPeers), out var figure) && _figures.Count < Most)
        {
            figure = new WatchedFigure(name, station, isPeers, washer);
            _figures.Add((name, station, isPeers), figure);
            _byKey.Add(figure.Key, figure);
            _ofStations = isPeers ? _ofStations : null;
        }

        return figure;
    }

    /// <summary>Figures that several stations have, by name, the stations in order; worked out anew when there is a new figure.</summary>
    public IReadOnlyList<(string Name, WatchedFigure[] Stations)> OfStations() => _ofStations ??=
    [
        .. _figures.Values.Where(f => f is { Station: > 0, IsPeers: false })
            .GroupBy(f => f.Name)
            .OrderBy(g => g.Key, StringComparer.Ordinal)
            .Select(g => (g.Key, g.OrderBy(f => f.Station).ToArray()))
            .Where(g => g.Item2.Length >= StationPeers.Least),
    ];

    public WatchedFigureState[] Save() =>
        [.. _figures.Values.Select(f => new WatchedFigureState(f.Name, f.Station, f.IsPeers, f.Values, f.LastCycle, f.LastValue, f.Chart.Save(), f.Block.Save(), f.Cycles, f.LastUncertainty, f.LastCharted, f.IsTold))];

    public void Load(IEnumerable<WatchedFigureState> states)
    {
        _figures.Clear();
        _byKey.Clear();
        _ofStations = null;
        foreach (var one in states)
        {
            var figure = Of(one.Name, one.Station, one.IsPeers)!;
            (figure.Values, figure.LastCycle, figure.LastValue) = (one.Values, one.LastCycle, one.LastValue);
            (figure.Cycles, figure.LastUncertainty, figure.LastCharted, figure.IsTold) = (one.Cycles, one.LastUncertainty, one.LastCharted, one.IsTold);
            figure.Block.Load(one.Block);
            figure.Chart.Load(one.Chart, one.Chart.Every is { } every ? budget.Design(every) : null);
        }
    }
}
