using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Simulator.Polling;
using WashBridge.Simulator.Truth;

namespace WashBridge.Simulator.Tests.Judging;

/// <summary>One cycle as the bridge saw and judged it, beside the cycles that can have been it.</summary>
/// <param name="Record">What was seen.</param>
/// <param name="Truth">Every true cycle of which a step was seen as part of it; empty if only its first or last moments were.</param>
/// <param name="Kegs">What was decided.</param>
internal sealed record JudgedCycle(CycleRecord Record, IReadOnlyList<TrueCycle> Truth, IReadOnlyList<KegVerdict> Kegs);

/// <summary>A simulated washer, polled, segmented and judged.</summary>
internal static class JudgedRun
{
    /// <summary>As a caller would hand over: some time before the cycle too, so that every group has a full frame.</summary>
    private static readonly TimeSpan Before = TimeSpan.FromSeconds(130);

    public static IReadOnlyList<JudgedCycle> Of(WasherOptions options, PollerOptions polling, Recipe recipe, TimeSpan duration)
    {
        var washer = new SimulatedWasher(options);
        var poller = new VirtualPoller(washer, polling);

        // By its valves alone the end of the evacuation looks like the purge, with only a drain of 2 s between the two.
        var segmenter = new Segmenter(washer.Model with { GapLimit = TimeSpan.FromSeconds(1.9) });
        var frames = new List<(Frame Frame, TimeSpan At)>();
        var records = new List<(CycleRecord Record, int FrameCount)>();
        foreach (var frame in poller.PollUntil(duration))
        {
            frames.Add((frame, washer.Now));
            records.AddRange(segmenter.Accept(frame).OfType<CycleEnded>().Select(e => (e.Cycle, frames.Count)));
        }

        IReadOnlyList<TrueCycle> truth = washer.CurrentCycle is { } running ? [.. washer.FinishedCycles, running] : [.. washer.FinishedCycles];
        return [.. records.Select(r =>
        {
            // The frame that shows the start is found by virtual time, because the wall clock may have been set.
            var first = frames.FindIndex(f => f.At + Before >= StartOf(r.Record, poller.Clock, washer.Now));
            var evidence = frames[first..r.FrameCount].ConvertAll(f => f.Frame);
            return new JudgedCycle(r.Record, Seen(r.Record, truth, poller.Clock), Judge.Decide(r.Record, evidence, recipe, []));
        })];
    }

    private static TimeSpan StartOf(CycleRecord record, BridgeClock clock, TimeSpan until)
    {
        var (from, to) = (TimeSpan.Zero, until);
        while (to - from > TimeSpan.FromSeconds(1))
        {
            var middle = (from + to) / 2;
            (from, to) = Compare(clock.Place(middle), record.Start.Latest) < 0 ? (middle, to) : (from, middle);
        }

        return from;
    }

    private static List<TrueCycle> Seen(CycleRecord record, IReadOnlyList<TrueCycle> truth, BridgeClock clock)
    {
        var steps = record.Phases.SelectMany(p => p.Passes).SelectMany(p => p.Steps).Where(s => s.Seen).ToList();
        return [.. truth.Where(t => steps.Exists(s =>
            Compare(s.Start.Latest, s.End.Earliest) < 0
            && Compare(clock.Place(t.Start), s.End.Earliest) < 0
            && (t.End is not { } end || Compare(clock.Place(end), s.Start.Latest) > 0)))];
    }

    private static int Compare(Moment a, Moment b) => a.Epoch != b.Epoch ? a.Epoch.CompareTo(b.Epoch) : a.Steady.CompareTo(b.Steady);
}
