using CsCheck;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;

namespace WashBridge.Core.Tests.Cycles;

/// <summary>Random washers, read in random ways: the truth lies within every bound. WASHBRIDGE_LONG multiplies the number of runs.</summary>
public sealed class SegmenterPropertyTests
{
    private static readonly int Times = int.TryParse(Environment.GetEnvironmentVariable("WASHBRIDGE_LONG"), out var times) ? times : 1;

    [Fact]
    public void The_truth_of_every_watched_cycle_lies_within_its_bounds()
    {
        var (watched, steps, unseen, drains, pauses) = (0, 0, 0, 0, 0);
        Gen.Int.Sample(seed =>
        {
            var check = new TruthCheck(seed, trouble: 0.0005, cycles: 8);
            check.Watched();
            Interlocked.Add(ref watched, check.WatchedCycles);
            Interlocked.Add(ref steps, check.Steps);
            Interlocked.Add(ref unseen, check.UnseenSteps);
            Interlocked.Add(ref drains, check.Drains);
            Interlocked.Add(ref pauses, check.Pauses);
        }, iter: 300 * Times, threads: 1);

        // The property says little if hardly anything was checked.
        Assert.True(watched > 600 && steps > 4000 && unseen > 10 && drains > 2000 && pauses > 50, $"{watched} cycles, {steps} steps, {unseen} unseen, {drains} drains, {pauses} pauses");
    }

    [Fact]
    public void No_bound_is_broken_and_nothing_is_lost_unaccounted_for_by_gaps_restarts_and_clock_steps()
    {
        var (parted, steps) = (0, 0);
        Gen.Int.Sample(seed =>
        {
            var check = new TruthCheck(seed, trouble: 0.01, cycles: 8);
            check.Troubled();
            Interlocked.Add(ref parted, check.PartedCycles);
            Interlocked.Add(ref steps, check.Steps);
        }, iter: 300 * Times, threads: 1);
        Assert.True(parted > 150 && steps > 2000, $"{parted} parted cycles, {steps} steps");
    }

    [Fact]
    public void Going_on_from_a_snapshot_at_any_frame_gives_the_same_events_to_the_byte() =>
        Gen.Int.Sample(seed =>
        {
            var random = new Random(seed);
            var washer = new RandomWasher(seed, cycles: 3);
            var polls = new RandomPolls(washer, seed, trouble: 0.005);
            var whole = new Segmenter(washer.Model);
            var chopped = new Segmenter(washer.Model);
            foreach (var frame in polls.Frames)
            {
                var expected = whole.Accept(frame).Select(WashJson.Write);
                if (random.Next(10) == 0)
                {
                    var snapshot = chopped.Snapshot();
                    chopped = Segmenter.Restore(washer.Model, snapshot);
                    Assert.Equal(snapshot, chopped.Snapshot());
                }

                Assert.Equal(expected, chopped.Accept(frame).Select(WashJson.Write));
            }
        }, iter: 20 * Times, threads: 1);

    [Fact]
    public void Reading_a_recording_from_a_later_start_at_rest_gives_the_later_cycles_the_same_ids()
    {
        var compared = 0;
        Gen.Int.Sample(seed =>
        {
            var washer = new RandomWasher(seed, cycles: 6);
            var polls = new RandomPolls(washer, seed, trouble: 0.003);
            var whole = CyclesOf(washer, polls.Frames);
            var open = OpenAt(washer, polls.Frames);
            foreach (var start in polls.FreshStarts.Where(s => IsAtRest(polls.Frames, s) && !open[s]))
            {
                var later = CyclesOf(washer, polls.Frames.Skip(start));
                Interlocked.Add(ref compared, later.Count);
                Assert.Equal(whole.TakeLast(later.Count).Select(c => (c.Id, c.Outcome)), later.Select(c => (c.Id, c.Outcome)));
            }
        }, iter: 200 * Times, threads: 1);
        Assert.True(compared > 100, $"{compared} compared");
    }

    [Fact]
    public void Every_event_has_an_id_of_its_own() =>
        Gen.Int.Sample(seed =>
        {
            var washer = new RandomWasher(seed, cycles: 6);
            var segmenter = new Segmenter(washer.Model);
            var ids = new RandomPolls(washer, seed, trouble: 0.005).Frames.SelectMany(segmenter.Accept).Select(e => e.Id).ToList();
            Assert.Equal(ids.Count, ids.Distinct().Count());
        }, iter: 60 * Times, threads: 1);

    private static bool IsAtRest(List<Frame> frames, int start) =>
        frames.Skip(start).FirstOrDefault(f => f is { Group: 0, Kind: FrameKind.Full }) is { } frame
        && frame.Samples.Any(s => s is { Signal.Name: "sequence.step", Value.Number: 0, Quality: Quality.Good })
        && frame.Samples.Any(s => s is { Signal.Name: "sequence.paused", Quality: Quality.Good });

    /// <summary>For each frame, whether a cycle is open before it.</summary>
    private static List<bool> OpenAt(RandomWasher washer, List<Frame> frames)
    {
        var segmenter = new Segmenter(washer.Model);
        var open = new List<bool> { false };
        foreach (var frame in frames)
        {
            var change = segmenter.Accept(frame).LastOrDefault(e => e is CycleStarted or CycleEnded);
            open.Add(change is null ? open[^1] : change is CycleStarted);
        }

        return open;
    }

    private static List<CycleRecord> CyclesOf(RandomWasher washer, IEnumerable<Frame> frames)
    {
        var segmenter = new Segmenter(washer.Model);
        return [.. frames.SelectMany(segmenter.Accept).OfType<CycleEnded>().Select(e => e.Cycle)];
    }
}
