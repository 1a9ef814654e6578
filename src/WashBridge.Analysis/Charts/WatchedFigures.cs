using WashBridge.Core.Features;

namespace WashBridge.Analysis.Charts;

/// <summary>The figures of a washer that have charts: found by name, station and kind, and bounded in number.</summary>
internal sealed class WatchedFigures(string washer, Budget budget)
{
    private const int Most = 600;

    private readonly Dictionary<(string Name, int Station, bool IsPeers), WatchedFigure> _figures = [];
    private readonly Dictionary<string, WatchedFigure> _byKey = new(StringComparer.Ordinal);

    // Every cycle asks for the same figures. Null: it is not watched.
    private readonly FigurePlaces<WatchedFigure?> _watched = new();
    private readonly FigurePlaces<WatchedFigure?> _peers = new();
    private List<(string Name, WatchedFigure[] Stations)>? _ofStations;

    /// <summary>In the order in which they were first seen.</summary>
    public IReadOnlyCollection<WatchedFigure> All => _figures.Values;

    public WatchedFigure this[string key] => _byKey[key];

    /// <summary>The figure of a value, made where it is new. Null: it is not watched, or there are too many.</summary>
    public WatchedFigure? Watched(in Feature value)
    {
        if (!_watched.TryFollow(value.Name, value.Station, out var figure))
        {
            figure = FeatureCatalogue.Find(value.Name) is { IsWatched: true } ? Of(value.Name, value.Station, false) : null;
            Remember(_watched, value, figure);
        }

        return figure;
    }

    /// <summary>The figure of a station's difference from the others. Null: there are too many.</summary>
    public WatchedFigure? Peers(in Feature difference)
    {
        if (!_peers.TryFollow(difference.Name, difference.Station, out var figure))
        {
            figure = Of(difference.Name, difference.Station, true);
            Remember(_peers, difference, figure);
        }

        return figure;
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
        _watched.Clear();
        _peers.Clear();
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

    private static void Remember(FigurePlaces<WatchedFigure?> places, in Feature value, WatchedFigure? figure)
    {
        if (places.Count < 4 * Most)
        {
            places.Set(value.Name, value.Station, figure);
        }
    }
}
