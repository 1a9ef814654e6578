using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;

namespace WashBridge.Tests.Forwarding;

/// <summary>Events and samples of an invented washer, from a seed: something of every kind, as a historian would hold them.</summary>
internal sealed class WashDay(int seed, string washer = "w1", int stations = 2)
{
    private static readonly (string Id, PhaseKind Kind, StepKind[] Steps)[] Phases =
    [
        ("rinse-first", PhaseKind.Rinse, [StepKind.WallSpray, StepKind.SpearRinse, StepKind.Drain]),
        ("caustic", PhaseKind.CausticWash, [StepKind.WallSpray, StepKind.Hold, StepKind.Drain]),
        ("sanitise", PhaseKind.Sanitise, [StepKind.SpearRinse, StepKind.Hold, StepKind.Drain]),
        ("purge", PhaseKind.Purge, [StepKind.Pressurise, StepKind.Vent, StepKind.Pressurise, StepKind.Vent]),
    ];

    private readonly Random _random = new(seed);
    private Instant _now = Instant.Parse("2031-03-05T06:00:00Z");
    private int _cycles;

    /// <summary>As many events as asked for, or a few more: cycles are not cut.</summary>
    public IReadOnlyList<WashEvent> Events(int atLeast)
    {
        var events = new List<WashEvent>();
        while (events.Count < atLeast)
        {
            AddCycle(events);
        }

        return events;
    }

    /// <summary>Polls of one group, ten a second.</summary>
    public IReadOnlyList<Frame> Frames(int count, int samplesEach)
    {
        var signals = Enumerable.Range(0, samplesEach).Select(Signal).ToArray();
        var frames = new List<Frame>(count);
        for (var i = 0; i < count; i++)
        {
            _now += TimeSpan.FromMilliseconds(100);
            var read = new TimeBounds(_now, _now + TimeSpan.FromMicroseconds(_random.Next(300, 4000)));
            frames.Add(new Frame
            {
                Washer = washer,
                Group = 1,
                Kind = FrameKind.Full,
                Read = read,
                Samples = [.. signals.Select(s => new Sample(s, Value(s), Quality.Good, read))],
            });
        }

        return frames;
    }

    private Signal Signal(int number) => (number % 10) switch
    {
        0 => new Signal(washer, 0, $"counter.c{number}", "", SignalType.Integer),
        1 or 2 or 3 => new Signal(washer, 1 + (number % stations), $"valve.v{number}", "", SignalType.Flag),
        _ => new Signal(washer, 0, $"other.q{number}", "Cel", SignalType.Quantity),
    };

    private SignalValue Value(Signal signal) => signal.Type switch
    {
        SignalType.Flag => new SignalValue(_random.Next(2)),
        SignalType.Integer => new SignalValue(_random.Next(100_000)),
        _ => new SignalValue(Math.Round(_random.NextDouble() * 900) / 10),
    };

    private void AddCycle(List<WashEvent> events)
    {
        var number = ++_cycles;
        Wait(20, 60);
        var start = Edge();
        var id = $"{washer}-{number:D5}";
        events.Add(new CycleStarted { Id = $"{id}/start", Washer = washer, CycleId = id, At = start.Wall, Edge = start });
        events.Add(new KegScanned { Id = $"{id}/scan/1", Washer = washer, At = Edge().Wall, Station = 1, KegId = $"K-{number}" });
        var phases = Phases.Select(p => AddPhase(events, id, p.Id, p.Kind, p.Steps)).ToList();
        if (number % 3 == 0)
        {
            AddInterruptions(events, id);
        }

        var end = Edge();
        events.Add(new CycleEnded
        {
            Id = $"{id}/end", Washer = washer, CycleId = id, At = end.Wall,
            Cycle = new CycleRecord
            {
                Id = id, Washer = washer, Start = start, End = end, Outcome = (CycleOutcome)(number % 3), Phases = phases,
                Stations = [.. Enumerable.Range(1, stations).Select(s => new StationRecord { Station = s, KegPresent = s == 1 ? true : null, Drains = [] })],
                Gaps = [], Pauses = [], Programme = 1, CycleCount = 1000 + number,
            },
        });
        for (var station = 1; station <= stations; station++)
        {
            events.Add(Judgement(id, number, station, end.Wall));
        }
    }

    private PhaseRecord AddPhase(List<WashEvent> events, string cycle, string phase, PhaseKind kind, StepKind[] steps)
    {
        var passes = new List<PassRecord>();
        for (var pass = 1; pass <= 2; pass++)
        {
            var records = new List<StepRecord>();
            for (var step = 0; step < steps.Length; step++)
            {
                var start = Edge();
                var id = $"{cycle}/{phase}/{pass}/{step + 1}";
                events.Add(new StepStarted { Id = id + "/start", Washer = washer, CycleId = cycle, At = start.Wall, Phase = phase, PhaseKind = kind, Pass = pass, Step = steps[step], Edge = start });
                Wait(2, 20);
                var end = Edge();
                var record = new StepRecord { Kind = steps[step], Start = start, End = end, Held = start.Until(end) };
                events.Add(new StepEnded { Id = id + "/end", Washer = washer, CycleId = cycle, At = end.Wall, Phase = phase, PhaseKind = kind, Pass = pass, Step = record });
                records.Add(record);
                if (steps[step] == StepKind.Drain)
                {
                    AddDrains(events, cycle, phase, pass, record);
                }
            }

            passes.Add(new PassRecord(pass, records));
        }

        var (first, last) = (passes[0].Steps[0].Start, passes[^1].Steps[^1].End);
        return new PhaseRecord(phase, kind, first, last, first.Until(last), passes);
    }

    /// <summary>One sensor edge for all stations: the drains of a step share their time.</summary>
    private void AddDrains(List<WashEvent> events, string cycle, string phase, int pass, StepRecord step)
    {
        for (var station = 1; station <= stations; station++)
        {
            var drain = new DrainRecord(phase, pass, step.Start, step.End, step.Held, Shared: false);
            events.Add(new DrainMeasured { Id = $"{cycle}/{phase}/{pass}/drain/{station}", Washer = washer, CycleId = cycle, At = step.End.Wall, Station = station, Drain = drain });
        }
    }

    private void AddInterruptions(List<WashEvent> events, string cycle)
    {
        var (start, lost) = (Edge(), Edge());
        events.Add(new CyclePaused { Id = $"{cycle}/pause/1", Washer = washer, CycleId = cycle, At = start.Wall, Edge = start });
        events.Add(new SourceLost { Id = $"{cycle}/lost", Washer = washer, At = lost.Wall, Group = 0, Reason = "no answer within 1 s" });
        Wait(5, 9);
        var back = Edge();
        events.Add(new SourceRestored { Id = $"{cycle}/back", Washer = washer, At = back.Wall, Group = 0, Gap = new TimeBounds(lost.Earliest.Wall, back.Latest.Wall) });
        events.Add(new CycleResumed { Id = $"{cycle}/resume/1", Washer = washer, CycleId = cycle, At = back.Wall, Pause = new Pause(start, back, start.Until(back)) });
        events.Add(new SetpointChanged { Id = $"{cycle}/setpoint", Washer = washer, At = Edge().Wall, Setpoint = "setpoint.sanitise.hold", Unit = "s", OldValue = 45, NewValue = 40 });
        events.Add(new ClockStepped { Id = $"{cycle}/clock", Washer = washer, At = Edge().Wall, Shift = TimeSpan.FromSeconds(-2), Reason = "time service" });
        _now -= TimeSpan.FromSeconds(2);
        events.AddRange(WashFindings.Of(cycle, washer, () => Edge().Wall));
    }

    private KegJudged Judgement(string cycle, int number, int station, TimeBounds at) => new()
    {
        Id = $"{cycle}/{station}/verdict", Washer = washer, CycleId = cycle, At = at,
        Verdict = new KegVerdict
        {
            KegId = $"K-{number}-{station}", KegIdSource = KegIdSource.Made, CycleId = cycle, Washer = washer, Station = station,
            Recipe = "standard", RecipeVersion = 3, Rule = DecisionRule.Bounds, Verdict = (Verdict)(number % 3),
            Results =
            [
                new RequirementResult { Requirement = "dwell", Verdict = (Verdict)(number % 3), Lower = 44.5 + number, Upper = 45.5 + number, Limit = 45, Unit = "s", Evidence = "held \"long\" enough, or not" },
                new RequirementResult { Requirement = "passes", Verdict = Verdict.Met, Lower = 2, Upper = 2, Limit = 2, Evidence = "2 passes of 2" },
            ],
        },
    };

    private void Wait(int fromSeconds, int toSeconds) => _now += TimeSpan.FromMilliseconds(_random.Next(fromSeconds * 1000, toSeconds * 1000));

    private Edge Edge()
    {
        var earliest = _now;
        _now += TimeSpan.FromMicroseconds(_random.Next(100_000, 101_000));
        return new Edge(new Moment(earliest, earliest, 0), new Moment(_now, _now, 0));
    }
}
