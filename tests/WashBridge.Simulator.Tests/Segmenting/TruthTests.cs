using CsCheck;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Verdicts;
using WashBridge.Simulator.Truth;

namespace WashBridge.Simulator.Tests.Segmenting;

/// <summary>
/// Random simulated washers with mishaps: every true duration lies within the reported bounds. WASHBRIDGE_LONG multiplies the number of runs.
/// </summary>
public sealed class TruthTests
{
    private static readonly int Times = int.TryParse(Environment.GetEnvironmentVariable("WASHBRIDGE_LONG"), out var times) ? times : 1;
    private static readonly TimeSpan Dwell = TimeSpan.FromSeconds(35);

    private static readonly Recipe Approved = new()
    {
        Id = "r",
        Version = 1,
        Requirements =
        [
            new ContactTime { Id = "dwell", From = new EdgeName("sanitise", StepKind.WallSpray, EdgeSide.Start), To = new EdgeName("sanitise", StepKind.Hold, EdgeSide.End), AtLeast = Dwell },
        ],
    };

    private int _whole;
    private int _parted;
    private int _drains;
    private int _met;
    private int _notMet;

    [Fact]
    public void No_true_duration_lies_outside_its_bounds_and_no_short_dwell_is_met()
    {
        Gen.Int.Sample(seed => Check(new SegmentedRun(seed, faults: 8)), iter: 150 * Times, threads: 1);
        Assert.True(_whole > 600 && _parted > 100 && _drains > 5000 && _met > 200 && _notMet > 10,
            $"{_whole} whole cycles, {_parted} others, {_drains} drains, dwell {_met} times met and {_notMet} times not");
    }

    private void Check(SegmentedRun run)
    {
        foreach (var (record, from, until) in run.Records)
        {
            if (SegmentedRun.IsWhole(record))
            {
                _whole++;
                Whole(run, record);
            }
            else
            {
                _parted++;
            }

            Assert.All(Steps(record).Where(s => s.Step.Seen), s => Seen(run, s.Phase, s.Step));
            Assert.All(record.Stations, s => Assert.All(s.Drains, d => Drain(run, s.Station, d)));
            Judged(run, record, from, until);
        }

        // Nothing is lost: what ran is in a record or ran while nobody read.
        var steps = run.Records.SelectMany(r => Steps(r.Cycle)).ToList();
        foreach (var truth in run.Recorded.SelectMany(c => c.Steps))
        {
            var (from, to) = (truth.Start, truth.End!.Value);
            if (run.IsUnread(from, to) || run.IsBetween(from, to) || run.IsWithinEdge(from, to) || run.IsMerged(truth.Phase, from, to) || IsTooShort(truth) || run.IsUnplaced(from, to))
            {
                continue;
            }

            Assert.True(steps.Exists(s => s.Phase == truth.Phase && s.Step.Kind == truth.Kind && run.Compare(s.Step.Start.Earliest, truth.Start) <= 0
                && run.Compare(s.Step.End.Latest, truth.End!.Value) >= 0 && s.Step.Held.Upper >= truth.Held), $"{truth} is nowhere");
        }
    }

    private static void Whole(SegmentedRun run, CycleRecord record)
    {
        var truth = Assert.Single(run.Truths, t => run.Holds(record.Start, t.Start));
        Assert.True(run.Holds(record.End, truth.End!.Value), "the end is elsewhere");
        var steps = Steps(record).ToList();

        // A programme that a person stops in its very last kind of step can't be told from a complete one.
        Assert.True((truth.Outcome == TrueOutcome.Completed) == (record.Outcome == CycleOutcome.Completed)
            || (truth.Steps.Last() is { Interrupted: true } last && (last.Kind == run.Model.Programme[^1].Steps[^1] || IsTooShort(last))), $"{truth.Outcome}, not {record.Outcome}");
        var isLastMissed = IsTooShort(truth.Steps.Last()) && truth.Steps.Count() == steps.Count + 1;
        Assert.Equal(truth.Steps.SkipLast(isLastMissed ? 1 : 0).Select(t => (t.Phase, t.Pass, t.Kind)), steps.Select(s => (s.Phase, s.Pass, s.Step.Kind)));
        foreach (var (t, (_, _, step)) in truth.Steps.Zip(steps))
        {
            Assert.True(run.Holds(step.Start, t.Start) && run.Holds(step.End, t.End!.Value) && step.Held.Contains(t.Held!.Value), $"{t} is not {step}");
        }

        Assert.Equal(truth.Pauses.Count, record.Pauses.Count);
        Assert.All(truth.Pauses.Zip(record.Pauses), p => Assert.True(p.Second.Duration.Contains(p.First.End!.Value - p.First.Start)));
    }

    /// <summary>Stopped before the next read, maybe.</summary>
    private static bool IsTooShort(TrueStep step) => step.Interrupted && step.Held < TimeSpan.FromSeconds(2);

    private static void Seen(SegmentedRun run, string phase, StepRecord step)
    {
        var alike = run.Truths.SelectMany(c => c.Steps).Where(t => t.Phase == phase && t.Kind == step.Kind).ToList();
        var pairs = alike.Where(t => run.Holds(step.Start, t.Start)).SelectMany(first => alike.Where(t => t.End >= first.End && run.Holds(step.End, t.End!.Value)).Select(last => (first, last)));
        Assert.True(pairs.Any(p => alike.Where(t => t.Start >= p.first.Start && t.End <= p.last.End).Max(t => t.Held) is { } held && step.Held.Lower <= held && held <= step.Held.Upper)
            || alike.Count == 0, $"{phase} {step} is of no true step");
    }

    /// <summary>While a sensor wavers faster than it is read, first dry and dry for good bound what can be known; else the two are one.</summary>
    private void Drain(SegmentedRun run, int station, DrainRecord drain)
    {
        var alike = run.Truths.SelectMany(c => c.Drains).Where(t => t.Station == station && t.Phase == drain.Phase && run.Holds(drain.Start, t.Start)).ToList();
        var isPaused = run.Truths.SelectMany(c => c.Pauses).Any(p => alike.Exists(t => p.Start < t.End && p.End > t.Start));
        if (alike.Count == 0 || isPaused)
        {
            return; // no keg at that station, or the controller did not look at its sensors
        }

        _drains++;
        Assert.True(alike.Exists(t => drain.Time.Lower <= (t.Dry ?? t.End) - t.Start && (drain.Dry is null || drain.Time.Upper >= (t.FirstDry ?? t.End) - t.Start)), $"{drain} is not {alike[0]}");
    }

    private void Judged(SegmentedRun run, CycleRecord record, int from, int until)
    {
        if (run.Model.Programme.All(p => p.Id != "sanitise"))
        {
            return;
        }

        var frames = run.Frames.GetRange(Math.Max(0, from - 400), until - Math.Max(0, from - 400));
        var result = Judge.Decide(record, frames, Approved, [])[0].Results[0];
        var holds = Steps(record).Where(s => s is { Phase: "sanitise", Step: { Kind: StepKind.Hold, Seen: true } }).ToList();
        var truths = run.Truths.SelectMany(c => c.Phases).Where(p => p.Id == "sanitise").SelectMany(p => p.Passes).Where(p => p.Steps.Any(s => s.Kind == StepKind.Hold && holds.Any(h => run.Holds(h.Step.Start, s.Start)))).ToList();
        var contacts = truths.ConvertAll(p => p.Steps.Last(s => s.Kind == StepKind.Hold).End!.Value - p.Steps[0].Start);
        if (result.Verdict == Verdict.Met)
        {
            _met++;
            Assert.NotEmpty(contacts);
            Assert.All(contacts, c => Assert.True(c >= Dwell, $"{c} was taken for {result.Lower} s or more"));
        }
        else if (result.Verdict == Verdict.NotMet && contacts.Count > 0)
        {
            _notMet++;
            Assert.Contains(contacts, c => c < Dwell);
        }
    }

    private static IEnumerable<(string Phase, int Pass, StepRecord Step)> Steps(CycleRecord record) =>
        record.Phases.SelectMany(p => p.Passes.SelectMany(x => x.Steps.Select(s => (p.Id, x.Number, s))));
}
