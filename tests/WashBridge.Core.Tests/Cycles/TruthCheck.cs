using WashBridge.Core.Cycles;
using WashBridge.Core.Time;

namespace WashBridge.Core.Tests.Cycles;

/// <summary>One random run and what is known of it, to hold the records against.</summary>
internal sealed class TruthCheck
{
    private readonly RandomWasher _washer;
    private readonly RandomPolls _polls;
    private readonly List<CycleRecord> _records;
    private readonly List<(long From, long To)> _gaps = [];

    public TruthCheck(int seed, double trouble, int cycles)
    {
        _washer = new RandomWasher(seed, cycles);
        _polls = new RandomPolls(_washer, seed, trouble);
        var segmenter = new Segmenter(_washer.Model);
        _records = [.. _polls.Frames.SelectMany(segmenter.Accept).OfType<CycleEnded>().Select(e => e.Cycle)];
        var before = (From: long.MinValue / 2, To: 0L);
        foreach (var read in _polls.GoodReads.Append((long.MaxValue / 2, long.MaxValue / 2)))
        {
            if (read.Item2 - before.From > _washer.Model.GapLimit.TotalMicroseconds || _polls.Place(before.From).Epoch != _polls.Place(read.Item2).Epoch)
            {
                _gaps.Add((before.From, read.Item2));
            }

            before = read;
        }
    }

    public int WatchedCycles { get; private set; }

    public int Steps { get; private set; }

    public int UnseenSteps { get; private set; }

    public int Drains { get; private set; }

    public int Pauses { get; private set; }

    public int PartedCycles => _records.Count(r => r.Outcome == CycleOutcome.EndUnseen || r.StartUnseen);

    /// <summary>Cycles that no gap touches: one record each, exact in everything.</summary>
    public void Watched()
    {
        foreach (var truth in _washer.Cycles.Where(c => !IsTouched(c.Start, c.End)))
        {
            var record = Assert.Single(_records, r => Holds(r.Start, truth.Start));
            WatchedCycles++;
            Assert.False(record.StartUnseen);
            var last = record.Phases[^1].Passes[^1].Steps;
            var isLastPhase = record.Phases[^1].Id == _washer.Model.Programme[^1].Id;
            Assert.True(truth.Outcome == record.Outcome || (record.Outcome == CycleOutcome.EndUnseen && isLastPhase && !last[^1].Seen), $"{truth.Outcome}, not {record.Outcome}");
            Within(record.End, truth.End);
            var seen = record.Phases.SelectMany(p => p.Passes.SelectMany(x => x.Steps.Select(s => (p.Id, x.Number, Step: s)))).ToList();
            Assert.All(truth.Steps, t => Step(t, seen));

            // Nothing is made up: what was seen was there.
            Assert.All(seen.Where(s => s.Step.Seen), s => Assert.Contains(truth.Steps, t => (t.Phase, t.Pass, t.Kind) == (s.Id, s.Number, s.Step.Kind)));
            Drain(truth, record);
            Pause(truth, record);
        }
    }

    /// <summary>All cycles, gaps or not: a seen step starts and ends as some true one did, and every true one is covered or lies in a gap.</summary>
    public void Troubled()
    {
        var truths = _washer.Cycles.SelectMany(c => c.Steps).ToList();
        var all = _records.SelectMany(r => r.Phases.SelectMany(p => p.Passes.SelectMany(x => x.Steps.Select(s => (p.Id, Step: s))))).ToList();
        foreach (var (phase, step) in all.Where(s => s.Step.Seen))
        {
            Steps++;
            var alike = truths.Where(t => t.Phase == phase && t.Kind == step.Kind).ToList();
            var pairs = alike.Where(t => Holds(step.Start, t.Start)).SelectMany(first => alike.Where(t => t.End >= first.End && Holds(step.End, t.End)).Select(last => (first, last)));
            Assert.True(pairs.Any(p => Fits(step.Held, alike.Where(t => t.Start >= p.first.Start && t.End <= p.last.End).ToList())), $"{phase} {step} is of no true step");
        }

        foreach (var truth in truths.Where(t => !_gaps.Exists(g => g.From <= t.Start && t.End <= g.To) && !IsBetween(t) && !IsHiddenUntilLost(t)))
        {
            Assert.True(all.Exists(s => s.Id == truth.Phase && s.Step.Kind == truth.Kind
                && Compare(s.Step.Start.Earliest, truth.Start) <= 0 && Compare(s.Step.End.Latest, truth.End) >= 0 && Micros(s.Step.Held.Upper) >= truth.Held), $"{truth} is nowhere");
        }
    }

    private void Step(TrueStep truth, List<(string Phase, int Pass, StepRecord Step)> seen)
    {
        Steps++;
        var step = Assert.Single(seen, s => (s.Phase, s.Pass, s.Step.Kind) == (truth.Phase, truth.Pass, truth.Kind)).Step;
        UnseenSteps += step.Seen ? 0 : 1;
        Within(step.Start, truth.Start);
        Within(step.End, truth.End);
        Assert.True(Fits(step.Held, [truth]), $"{truth.Held} us is not within {step.Held}");
    }

    private void Drain(TrueCycle truth, CycleRecord record)
    {
        foreach (var step in truth.Steps.Where(s => s.Kind == StepKind.Drain))
        {
            for (var station = 1; station <= 2; station++)
            {
                if (record.Stations[station - 1].Drains.SingleOrDefault(d => d.Phase == step.Phase && d.Pass == step.Pass) is not { } drain)
                {
                    continue; // no look within it, or the sensor was bad
                }

                Drains++;
                var dry = step.Dry[station - 1];
                if (dry is { } at)
                {
                    var time = Math.Max(at, step.Start) - step.Start;
                    Assert.True(Micros(drain.Time.Lower) <= time && time <= Micros(drain.Time.Upper), $"{time} us is not within {drain.Time}");
                }
                else
                {
                    // It may have turned dry right after the step, between the same two reads.
                    Assert.True(drain.Dry is not { } edge || Compare(edge.Latest, step.End) >= 0);
                    Assert.True(Micros(drain.Time.Lower) <= step.End - step.Start);
                }
            }
        }
    }

    private void Pause(TrueCycle truth, CycleRecord record)
    {
        var pauses = truth.Steps.SelectMany(s => s.Pauses).ToList();
        Assert.Equal(pauses.Count, record.Pauses.Count);
        foreach (var ((start, end), pause) in pauses.Zip(record.Pauses))
        {
            Pauses++;
            Within(pause.Start, start);
            Within(pause.End, end);
            Assert.True(Micros(pause.Duration.Lower) <= end - start && end - start <= Micros(pause.Duration.Upper));
        }
    }

    /// <summary>Idle that was not watched for the gap limit beside a gap is not believed.</summary>
    private bool IsTouched(long from, long to)
    {
        var doubt = 2 * (long)_washer.Model.GapLimit.TotalMicroseconds;
        return _gaps.Exists(g => g.From < to + doubt && g.To > from - doubt);
    }

    /// <summary>After the last step seen of a cycle of which nobody saw the end, until the next position that was told.</summary>
    private bool IsBetween(TrueStep truth) => _records.Zip(_records.Skip(1)).Any(r => r.First.Outcome == CycleOutcome.EndUnseen
        && Compare(r.First.Phases[^1].Passes[^1].Steps[^1].End.Earliest, truth.Start) <= 0 && Compare(r.Second.Start.Latest, truth.End) >= 0);

    /// <summary>It was paused, its place hidden, before any read showed it, and went on and ended in a gap: no frame tells of it.</summary>
    private bool IsHiddenUntilLost(TrueStep truth)
    {
        if (truth.Pauses.Count == 0 || !_gaps.Exists(g => g.From <= truth.Pauses[^1].End && truth.End <= g.To))
        {
            return false;
        }

        var running = truth.Pauses.Select(p => p.End).Prepend(truth.Start).Zip(truth.Pauses.Select(p => p.Start).Append(truth.End)).SkipLast(1);
        return running.All(r => !_polls.GoodReads.Exists(read => read.From <= r.Second && read.To >= r.First));
    }

    private static bool Fits(DurationBounds held, List<TrueStep> truths) =>
        Micros(held.Lower) <= truths.Max(t => t.LongestStretch) && Micros(held.Upper) >= truths.Max(t => t.Held);

    private void Within(Edge edge, long time) => Assert.True(Holds(edge, time), $"{_polls.Place(time)} is not within {edge}");

    private bool Holds(Edge edge, long time) => Compare(edge.Earliest, time) <= 0 && Compare(edge.Latest, time) >= 0;

    private int Compare(Moment moment, long time)
    {
        var place = _polls.Place(time);
        return moment.Epoch != place.Epoch ? moment.Epoch.CompareTo(place.Epoch) : moment.Steady.CompareTo(place.Steady);
    }

    private static long Micros(TimeSpan span) => span == TimeSpan.MaxValue ? long.MaxValue : span.Ticks / TimeSpan.TicksPerMicrosecond;
}
