using System.Runtime.InteropServices;
using WashBridge.Core.Features;

namespace WashBridge.Analysis;

/// <summary>
/// What belongs to each figure, found again without looking up its name: a cycle brings the same figures in the same order as the one before it, but for a few.
/// </summary>
internal sealed class FigurePlaces<T>
{
    // So many figures of the cycle before can be missing in a row.
    private const int LooksAhead = 4;
    private readonly List<(string Name, int Station, T Value)> _places = [];
    private readonly Dictionary<(string Name, int Station), int> _byFigure = [];
    private int _next;

    public int Count => _places.Count;

    /// <summary>Quick for a figure that comes after the one that was asked for before, as it did last time.</summary>
    public bool TryFollow(string name, int station, out T value)
    {
        var places = CollectionsMarshal.AsSpan(_places);
        for (var place = _next; place < _next + LooksAhead && place < places.Length; place++)
        {
            ref var at = ref places[place];
            if (at.Station == station && at.Name == name)
            {
                _next = place + 1;
                value = at.Value;
                return true;
            }
        }

        if (_byFigure.TryGetValue((name, station), out var known))
        {
            _next = known + 1;
            value = places[known].Value;
            return true;
        }

        value = default!;
        return false;
    }

    /// <summary>For a single figure, out of order.</summary>
    public T? Find(string name, int station) => _byFigure.TryGetValue((name, station), out var place) ? _places[place].Value : default;

    /// <summary>Puts a figure in place, or another value in that of a figure.</summary>
    public void Set(string name, int station, T value)
    {
        if (_byFigure.TryGetValue((name, station), out var place))
        {
            _places[place] = (name, station, value);
            return;
        }

        _byFigure.Add((name, station), _places.Count);
        _places.Add((name, station, value));
        _next = _places.Count;
    }

    public void Clear()
    {
        _places.Clear();
        _byFigure.Clear();
        _next = 0;
    }
}

internal static class FigureSpan
{
    /// <summary>The figures themselves where the list shows them, to go through without a call for each.</summary>
    public static ReadOnlySpan<Feature> Of(IReadOnlyList<Feature> figures) => figures switch
    {
        List<Feature> list => CollectionsMarshal.AsSpan(list),
        Feature[] array => array,
        _ => figures.ToArray(),
    };
}
