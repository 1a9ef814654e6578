using WashBridge.Core.Time;

namespace WashBridge.Analysis.Upkeep;

/// <summary>How many cycles the site runs in an hour of its shifts, from the latest some thousand cycles.</summary>
internal sealed class CyclePace(ShiftCalendar calendar)
{
    private const int Every = 50;
    private const int Marks = 24;
    private const int LeastMarks = 2;
    private int _since;

    /// <summary>Ends of every 50th cycle, the latest last.</summary>
    public List<Instant> Ends { get; init; } = [];

    /// <summary>Cycles since the last of them.</summary>
    public int Since
    {
        get => _since;
        init => _since = value;
    }

    public void Count(Instant ended)
    {
        if (Ends.Count > 0 && ++_since < Every)
        {
            return;
        }

        _since = 0;
        Ends.Add(ended);
        if (Ends.Count > Marks)
        {
            Ends.RemoveAt(0);
        }
    }

    /// <summary>Working time of one cycle, pauses between cycles included; null: not known yet.</summary>
    public TimeSpan? PerCycle()
    {
        if (Ends.Count < LeastMarks)
        {
            return null;
        }

        // Cycles outside the shifts are worked too: then the shifts tell nothing, and the clock must do.
        var worked = calendar.Worked(Ends[0], Ends[^1]);
        return worked > TimeSpan.Zero ? worked / ((Ends.Count - 1) * Every) : null;
    }

    /// <summary>When so many more cycles are over; null: not known, or too far away.</summary>
    public Instant? After(Instant now, double? cycles) =>
        cycles is { } left && PerCycle() is { } each && left * each.TotalSeconds < ShiftCalendar.Farthest.TotalSeconds
            ? calendar.After(now, each * left)
            : null;
}
