using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Pipeline;

/// <summary>All that a cycle is judged and measured from. Judging later reads the same as judging when it ended did.</summary>
/// <param name="Frames">From before the rest that came before the cycle, or from so long before it that every group had a full frame, to its end.</param>
/// <param name="JudgedFrom">The frames from here on are what kegs are judged by.</param>
/// <param name="Rested">The end of the cycle before, where the washer did not rest too long; null otherwise.</param>
/// <param name="Scans">After the end of the cycle before.</param>
internal sealed record CycleEvidence(IReadOnlyList<Frame> Frames, Instant JudgedFrom, TimeBounds? Rested, IReadOnlyList<KegScanned> Scans)
{
    /// <summary>After a longer rest nothing is counted since the cycle before: it would take more frames than a cycle is worth.</summary>
    private static readonly TimeSpan LongestRest = TimeSpan.FromMinutes(30);

    /// <summary>How far back the cycle before is looked for.</summary>
    private static readonly TimeSpan LongestSearch = TimeSpan.FromHours(12);

    public IReadOnlyList<Frame> JudgedFrames => [.. Frames.Where(f => f.Read.Earliest >= JudgedFrom)];

    /// <param name="lead">So long before a moment every group had a full frame.</param>
    /// <param name="fresh">Events that follow from the log but are not in the historian yet.</param>
    public static CycleEvidence Read(IHistorianReader historian, CycleRecord cycle, TimeSpan lead, IReadOnlyList<WashEvent> fresh)
    {
        var (from, until) = Period(cycle);
        var before = Before(historian, cycle, fresh);
        var rested = before is { End: { Earliest.IsKnown: true, Latest.IsKnown: true } end } && from - end.Earliest.Wall <= LongestRest ? end.Wall : (TimeBounds?)null;
        var frames = historian.ReadFrames(cycle.Washer, Instant.Min(from, rested?.Earliest ?? from) - lead, until);
        var scansFrom = before?.End.Latest.Wall ?? (cycle.Start.Earliest.Wall - LongestSearch);
        var scans = historian.ReadEvents(new EventQuery { Washer = cycle.Washer, Kinds = ["keg-scanned"], From = scansFrom, Until = until });
        return new CycleEvidence(frames, from - lead, rested, [.. scans.OfType<KegScanned>()]);
    }

    /// <summary>
    /// The cycle before: it may have ended in this very batch, so that the historian does not have it yet. Scans before its end are used up, because a scan
    /// belongs to the keg that is washed next.
    /// </summary>
    private static CycleRecord? Before(IHistorianReader historian, CycleRecord cycle, IReadOnlyList<WashEvent> fresh)
    {
        var start = cycle.Start.Earliest.Wall;
        var stored = historian.ReadEvents(new EventQuery { Washer = cycle.Washer, Kinds = ["cycle-ended"], From = start - LongestSearch, Until = start });
        return stored.Concat(fresh.Where(e => e.Washer == cycle.Washer && e.At.Latest >= start - LongestSearch && e.At.Earliest < start))
            .OfType<CycleEnded>()
            .Where(e => e.CycleId != cycle.Id)
            .MaxBy(e => (e.At.Latest, e.At.Earliest))?.Cycle;
    }

    /// <summary>The wall clock may have been set back during the cycle.</summary>
    private static (Instant From, Instant Until) Period(CycleRecord cycle) =>
        (Instant.Min(cycle.Start.Earliest.Wall, cycle.End.Earliest.Wall), Instant.Max(cycle.Start.Latest.Wall, cycle.End.Latest.Wall));
}
