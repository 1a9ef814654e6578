using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;
using WashBridge.Historian;

namespace WashBridge.Web.Live;

/// <summary>What a fold must know of the time before it began: a cycle that may run since before a restart, the last verdicts, the baths. Bounded, however old the log is.</summary>
internal static class Recall
{
    /// <summary>Counting ends here: a bath is changed long before.</summary>
    private const int MostCycles = 20_000;

    /// <summary>First so far back, then twice as far each time.</summary>
    private static readonly TimeSpan First = TimeSpan.FromMinutes(30);
    private static readonly TimeSpan Furthest = TimeSpan.FromDays(4);

    /// <summary>Once a cycle was found, a station without a verdict is looked for so many times further back: it may not be in use.</summary>
    private const int Further = 2;

    /// <summary>Of raw samples: enough for every group to have been read.</summary>
    private static readonly TimeSpan LastFrames = TimeSpan.FromMinutes(1);

    private static readonly TimeSpan LongestCycle = TimeSpan.FromHours(2);

    private static readonly string[] Kinds =
    [
        "cycle-started", "step-started", "step-ended", "cycle-paused", "cycle-resumed", "cycle-ended", "keg-judged", "keg-scanned", "drain-measured",
        "source-lost", "source-restored", "clock-stepped", "forecast-made", "titration-recorded",
    ];

    /// <param name="end">Time of the last entry of the log.</param>
    public static WasherFold Of(WasherConfiguration washer, IHistorianReader historian, Instant end)
    {
        var id = washer.Model.Washer;
        var fold = new WasherFold(washer);
        foreach (var washEvent in Recent(id, washer.Model.Stations, historian, end))
        {
            fold.Take(washEvent);
        }

        foreach (var frame in historian.ReadFrames(id, end - LastFrames, end))
        {
            fold.Take(frame);
        }

        foreach (var (bath, at) in Changes(id, historian))
        {
            var begun = historian.ReadEvents(new EventQuery { Washer = id, Kinds = ["cycle-started"], From = at, AtMost = MostCycles }).Count(e => e.At.Latest > at);
            fold.Changed(bath, at, Math.Max(0, begun + (Ran(id, historian, at) ? 1 : 0) - (fold.Now.Cycle is null ? 0 : 1)));
        }

        return fold;
    }

    /// <summary>Whether a cycle ran at that moment: it ends afterwards, and counts. Starts are counted rather than ends because they are short to read.</summary>
    private static bool Ran(string washer, IHistorianReader historian, Instant at) => historian
        .ReadEvents(new EventQuery { Washer = washer, Kinds = ["cycle-started", "cycle-ended"], From = at - LongestCycle, Until = at })
        .LastOrDefault(e => e.At.Latest <= at) is CycleStarted;

    private static IEnumerable<WashEvent> Recent(string washer, int stations, IHistorianReader historian, Instant end)
    {
        var parts = new List<IReadOnlyList<WashEvent>>();
        var judged = new HashSet<int>();
        var (until, reach, left) = ((Instant?)null, First, Further);
        while (reach <= Furthest && left >= 0)
        {
            var part = historian.ReadEvents(new EventQuery { Washer = washer, Kinds = Kinds, From = end - reach, Until = until });
            parts.Add(until is { } edge ? [.. part.Where(e => e.At.Latest < edge)] : part);
            judged.UnionWith(part.OfType<KegJudged>().Select(j => j.Verdict.Station));
            if (parts.Any(p => p.Any(e => e is CycleEnded)))
            {
                left = judged.Count >= stations ? -1 : left - 1;
            }

            (until, reach) = (end - reach, reach * 2);
        }

        parts.Reverse();
        return parts.SelectMany(p => p);
    }

    /// <summary>The last change of each bath, under whichever name it was recorded.</summary>
    private static IEnumerable<(string Bath, Instant At)> Changes(string washer, IHistorianReader historian) => historian
        .ReadEvents(new EventQuery { Washer = washer, Kinds = ["maintenance-recorded", "bath-changed"] })
        .Select(e => e is BathChanged changed ? changed.AsMaintenance() : e as MaintenanceRecorded)
        .OfType<MaintenanceRecorded>()
        .Where(m => m is { Component.Kind: ComponentKind.Bath, Work: MaintenanceKind.Replaced })
        .GroupBy(m => m.Component.Of, StringComparer.Ordinal)
        .Select(g => (g.Key, g.Max(m => m.At.Latest)));
}
