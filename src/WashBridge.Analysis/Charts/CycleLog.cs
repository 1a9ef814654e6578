using WashBridge.Core.Features;
using WashBridge.Core.Time;

namespace WashBridge.Analysis.Charts;

/// <summary>The latest cycles: which they were, when they ended and which kegs they washed. Bounded.</summary>
internal sealed class CycleLog
{
    public const int Most = 2000;
    public const int MostKegsTold = 200;
    private readonly List<LoggedCycle> _cycles = [];
    private int _first;

    /// <summary>Number that the next cycle gets.</summary>
    public int Next => _first + _cycles.Count;

    public void Add(string id, Instant ended, IReadOnlyList<WashedKeg> kegs)
    {
        // A block at a time, so that a cycle does not move all of them.
        if (_cycles.Count >= Most + 200)
        {
            _cycles.RemoveRange(0, 201);
            _first += 201;
        }

        _cycles.Add(new LoggedCycle(id, ended, kegs));
    }

    /// <summary>The cycle with a number; the oldest known where it is older.</summary>
    public LoggedCycle At(int number) => _cycles[Math.Clamp(number - _first, 0, _cycles.Count - 1)];

    /// <summary>Kegs since a cycle, at a station or (0) at all; the ids of the latest of them, the latest last, and how many there were.</summary>
    public (IReadOnlyList<string> Latest, int Count) KegsSince(int number, int station)
    {
        var ids = new List<string>();
        for (var i = Math.Max(0, number - _first); i < _cycles.Count; i++)
        {
            ids.AddRange(_cycles[i].Kegs.Where(k => station == 0 || k.Station == station).Select(k => k.KegId));
        }

        return (ids.Count > MostKegsTold ? ids[^MostKegsTold..] : ids, ids.Count);
    }

    public CycleLogState Save() => new(_first, [.. _cycles]);

    public void Load(CycleLogState state)
    {
        _first = state.First;
        _cycles.Clear();
        _cycles.AddRange(state.Cycles);
    }
}

internal sealed record LoggedCycle(string Id, Instant Ended, IReadOnlyList<WashedKeg> Kegs);

/// <summary>What a log remembers.</summary>
internal sealed record CycleLogState(int First, LoggedCycle[] Cycles);
