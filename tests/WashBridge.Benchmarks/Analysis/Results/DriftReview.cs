using WashBridge.Benchmarks.Analysis.Years;
using WashBridge.Core.Cycles;
using WashBridge.Core.Drift;

namespace WashBridge.Benchmarks.Analysis.Results;

/// <summary>How the charts did in one washer-year: signals without a cause, and how soon true faults were seen.</summary>
internal sealed record DriftReview
{
    /// <summary>For so many cycles after a fault was put right a signal still counts as of it: baths recover, averages run out.</summary>
    private const int Aftermath = 200;

    /// <summary>Cycles in which nothing was wrong and nobody had just changed anything.</summary>
    public required int QuietCycles { get; init; }

    public required IReadOnlyList<DriftFinding> FalseAlarms { get; init; }

    /// <summary>Signals while nothing was wrong, but a setpoint or a part had just been changed: true, and no fault.</summary>
    public required int AfterChanges { get; init; }

    public required IReadOnlyList<EpisodeFound> Episodes { get; init; }

    public static DriftReview Of(YearTruth truth, IReadOnlyList<DriftFound> found)
    {
        var numbers = truth.CycleIds.Select((id, index) => (id, index)).Where(c => c.id is not null).ToDictionary(c => c.id!, c => c.index + 1);
        var signals = found.Where(f => f.CycleId is not null).Select(f => (Cycle: numbers[f.CycleId!], f.Finding)).ToList();
        var touched = new bool[truth.Cycles + 1];
        var changed = new bool[truth.Cycles + 1];
        foreach (var episode in truth.Episodes)
        {
            Mark(touched, episode.FirstCycle, (episode.RepairCycle ?? truth.Cycles) + Aftermath);
        }

        foreach (var work in truth.Routine.Where(w => w.What != "inspected"))
        {
            Mark(changed, work.Cycle, work.Cycle + Aftermath);
        }

        var apart = signals.Where(s => !touched[s.Cycle]).ToList();
        return new DriftReview
        {
            QuietCycles = Enumerable.Range(1, truth.Cycles).Count(c => !touched[c] && !changed[c] && truth.CycleIds[c - 1] is not null),
            FalseAlarms = [.. apart.Where(s => !changed[s.Cycle]).Select(s => s.Finding)],
            AfterChanges = apart.Count(s => changed[s.Cycle]),
            Episodes = [.. truth.Episodes.Select(e => EpisodeFound.Of(e, truth.Cycles, signals))],
        };
    }

    private static void Mark(bool[] cycles, int from, int to) => Array.Fill(cycles, true, from, Math.Max(0, Math.Min(to, cycles.Length - 1) - from + 1));
}

/// <summary>When the first signal came after a fault had begun.</summary>
/// <param name="Episode">The fault.</param>
/// <param name="Delay">Cycles from its first to the signal; null: it was put right, or the year ended, without one.</param>
/// <param name="Length">Cycles from its first to its last.</param>
internal sealed record EpisodeFound(TrueEpisode Episode, int? Delay, int Length)
{
    public static EpisodeFound Of(TrueEpisode episode, int lastCycle, IReadOnlyList<(int Cycle, DriftFinding Finding)> signals)
    {
        var last = episode.RepairCycle ?? lastCycle;
        var first = signals.Where(s => s.Cycle >= episode.FirstCycle && s.Cycle <= last).Select(s => (int?)s.Cycle).FirstOrDefault();
        return new EpisodeFound(episode, first - episode.FirstCycle + 1, last - episode.FirstCycle + 1);
    }
}
