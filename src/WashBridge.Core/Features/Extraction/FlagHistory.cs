namespace WashBridge.Core.Features.Extraction;

/// <summary>A change of a flag: not before the one read, which showed the old state, and not after the other, which showed the new.</summary>
/// <param name="IsHidden">Both reads showed the same, but others between them failed: there and back again, maybe.</param>
internal readonly record struct FlagChange(Stamp Old, Stamp New, bool IsSet, bool IsHidden)
{
    public long Middle => (Old.Middle / 2) + (New.Middle / 2);

    /// <summary>How far what was set can be from what is counted, s: half of the time in which it can have changed, all of it if it can have been the other throughout.</summary>
    public double HalfWidth => (New.Latest - Old.Earliest) / (IsHidden ? 1e6 : 2e6);
}

/// <summary>What a flag did within a window, no part of which went unread for long.</summary>
internal sealed class FlagHistory(Window window, bool wasSet)
{
    private readonly List<FlagChange> _changes = [];

    /// <summary>At the window's start.</summary>
    public bool WasSet { get; } = wasSet;

    public void Add(Stamp old, Stamp now, bool isSet) => _changes.Add(new FlagChange(old, now, isSet, false));

    /// <summary>Reads failed between these two: a controller that was away had all its valves shut.</summary>
    public void AddHidden(Stamp before, Stamp after, bool isSet) => _changes.Add(new FlagChange(before, after, isSet, true));

    /// <summary>How long it was set, s; each change lies anywhere between its reads (rectangular, JCGM 100:2008, 4.3.7), and so do the window's own ends.</summary>
    /// <param name="startHalf">How far the window's start can be from where it is taken to be, s.</param>
    /// <param name="endHalf">The same of its end.</param>
    public Estimate OnTime(double startHalf = 0, double endHalf = 0)
    {
        var (sum, variance, isSet, at) = (0L, WasSet ? Readouts.Variance(startHalf) : 0, WasSet, window.From);
        foreach (var change in _changes)
        {
            var middle = Math.Clamp(change.Middle, at, window.To);
            sum += isSet ? middle - at : 0;
            variance += Readouts.Variance(change.HalfWidth);
            (isSet, at) = (change.IsSet, middle);
        }

        sum += isSet ? window.To - at : 0;
        variance += isSet ? Readouts.Variance(endHalf) : 0;
        return new Estimate(sum / 1e6, Math.Sqrt(variance));
    }

    /// <summary>The longest stretch in which it certainly was set; null where none is as long as this.</summary>
    public Window? LongestRun(double leastSeconds)
    {
        Window? longest = null;
        var (from, isSet) = (window.From, WasSet);
        for (var i = 0; i <= _changes.Count; i++)
        {
            var to = i < _changes.Count ? Math.Min(_changes[i].Old.Earliest, window.To) : window.To;
            if (isSet && to - from >= leastSeconds * 1e6 && to - from > (longest is { } l ? l.To - l.From : 0))
            {
                longest = new Window(window.Epoch, from, to);
            }

            if (i < _changes.Count)
            {
                (from, isSet) = (_changes[i].New.Latest, _changes[i].IsSet);
            }
        }

        return longest;
    }

    /// <summary>From its last end to the end of the window, s; 0 where it is set, null where it never was, or can have been since then unseen.</summary>
    public Estimate? Rest(double endHalf)
    {
        if (_changes.Count == 0)
        {
            return WasSet ? Estimate.Exact(0) : null;
        }

        var last = _changes[^1];
        return last.IsSet ? Estimate.Exact(0) : last.IsHidden ? null : new Estimate(Math.Max(0, (window.To - last.Middle) / 1e6), Math.Sqrt(Readouts.Variance(last.HalfWidth) + Readouts.Variance(endHalf)));
    }
}
