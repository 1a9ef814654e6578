using System.Text.Json;
using WashBridge.Analysis.Indices;

namespace WashBridge.Analysis.Charts;

/// <summary>The drain indices of a washer's stations, and whether another recipe gives their charts another reference.</summary>
internal sealed class WatchedDrains(int stations)
{
    // Of the spread of single cycles: a step of that size is found, sooner or later.
    private const double NoticeableShare = 0.2;

    private readonly DrainIndex[] _drains = [.. Enumerable.Range(1, stations).Select(s => new DrainIndex(s))];
    private readonly bool[] _recipeChanged = new bool[stations];

    public IReadOnlyList<DrainIndex> All => _drains;

    public void RecipeChanged() => Array.Fill(_recipeChanged, true);

    /// <param name="station">0: all.</param>
    public void Restart(int station)
    {
        foreach (var drain in _drains.Where(d => station == 0 || station == d.Station))
        {
            drain.Restart();
        }
    }

    /// <summary>
    /// After a change of the recipe, with the first value: is what the index cannot know of the new litres small against what the chart can see? An index that is
    /// blind for the new litres begins anew itself.
    /// </summary>
    public bool NeedsAnotherReference(DrainIndex drain, DrainIndexValue value, Func<WatchedFigure?> charted)
    {
        if (!_recipeChanged[drain.Station - 1])
        {
            return false;
        }

        _recipeChanged[drain.Station - 1] = false;
        if (value.DrainsByLitres < value.Drains)
        {
            drain.Restart();
            return true;
        }

        return charted() is { } figure && value.Systematic > NoticeableShare * figure.Chart.ReferenceSpread;
    }

    public (string[] Drains, bool[] RecipeChanged) Save() => ([.. _drains.Select(d => d.Snapshot())], [.. _recipeChanged]);

    /// <exception cref="JsonException">They are of a washer with another number of stations.</exception>
    public void Load(string[] drains, bool[] recipeChanged)
    {
        if (drains.Length != _drains.Length)
        {
            throw new JsonException($"the snapshot is of a washer with {drains.Length} stations, this one has {_drains.Length}");
        }

        recipeChanged.CopyTo(_recipeChanged, 0);
        for (var i = 0; i < _drains.Length; i++)
        {
            _drains[i].Restore(drains[i]);
        }
    }
}
