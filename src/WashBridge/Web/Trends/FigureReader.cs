using WashBridge.Analysis.Indices;
using WashBridge.Core.Features;

namespace WashBridge.Web.Trends;

/// <summary>
/// Takes one figure, by the key that findings call it, out of the cycles: as it was measured, as a drain index, or as a station's difference from the median of the washer's
/// other stations.
/// </summary>
internal sealed class FigureReader
{
    private readonly string _name;
    private readonly int _station;
    private readonly bool _isOfPeers;
    private readonly DrainIndex[] _drains = [];

    /// <param name="key">Such as <c>strength/caustic</c>, <c>drain-index@2</c> or <c>peers/purge-high@3</c>.</param>
    /// <param name="stations">Of the washer.</param>
    public FigureReader(string key, int stations)
    {
        _isOfPeers = key.StartsWith(Feature.PeersPrefix, StringComparison.Ordinal);
        var parts = (_isOfPeers ? key[Feature.PeersPrefix.Length..] : key).Split('@');
        _name = parts[0];
        _station = parts.Length == 2 && int.TryParse(parts[1], out var station) ? station : 0;
        if (_name == DrainIndex.Name)
        {
            _drains = [.. Enumerable.Range(1, stations).Where(s => _isOfPeers || s == _station).Select(s => new DrainIndex(s))];
        }
    }

    /// <summary>The drain index must learn from the first cycles of its reference before it can be read.</summary>
    public bool IsLearning => _drains.Any(d => d.IsLearning);

    /// <summary>Valve or sensor of a drain is another, or was cleaned: its index learns anew.</summary>
    /// <param name="station">0: at all stations.</param>
    public void Restart(int station)
    {
        foreach (var drain in _drains.Where(d => station == 0 || d.Station == station))
        {
            drain.Restart();
        }
    }

    /// <summary>Takes the next cycle.</summary>
    /// <returns>Value and standard uncertainty; null: this cycle does not have it.</returns>
    public (double Value, double Uncertainty)? Read(CycleFeatures features)
    {
        var own = ((double Value, double Uncertainty)?)null;
        var others = new List<double>();
        foreach (var (station, value, uncertainty) in Values(features))
        {
            if (station == _station)
            {
                own = (value, uncertainty);
            }
            else if (_isOfPeers)
            {
                others.Add(value);
            }
        }

        return !_isOfPeers ? own : own is { } of && others.Count > 0 ? (of.Value - Median(others), of.Uncertainty) : null;
    }

    private IEnumerable<(int Station, double Value, double Uncertainty)> Values(CycleFeatures features)
    {
        if (_name != DrainIndex.Name)
        {
            foreach (var figure in features.Figures.Where(f => f.Name == _name))
            {
                yield return (figure.Station, figure.Value, figure.Uncertainty);
            }

            yield break;
        }

        foreach (var drain in _drains)
        {
            if (drain.Accept(features) is { } index)
            {
                yield return (drain.Station, index.Ratio, index.Uncertainty);
            }
        }
    }

    private static double Median(List<double> values)
    {
        values.Sort();
        return values.Count % 2 == 1 ? values[values.Count / 2] : (values[(values.Count / 2) - 1] + values[values.Count / 2]) / 2;
    }
}
