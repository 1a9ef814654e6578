using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Core.Tests.Verdicts;

/// <summary>Writes a cycle record as a washer that is polled every so often would leave it: steps follow each other, each edge lies within one poll interval.</summary>
internal sealed class CycleScript
{
    private readonly List<(string Phase, PhaseKind Kind, List<List<Step>> Passes)> phases = [];

    public static readonly Instant Origin = Instant.Parse("2031-03-05T08:00:00Z");

    /// <summary>Width of every edge in seconds: half before and half after the middle.</summary>
    public double EdgeWidth { get; init; } = 1;

    public CycleOutcome Outcome { get; init; } = CycleOutcome.Completed;

    public bool StartUnseen { get; init; }

    public List<(double From, double To)> Gaps { get; } = [];

    public List<StationRecord> Stations { get; } = [new() { Station = 1, KegPresent = true, Drains = [] }];

    public static Moment At(double seconds) => new(Wall(seconds), Wall(seconds), 0);

    public static Instant Wall(double seconds) => Origin + TimeSpan.FromSeconds(seconds);

    public CycleScript Phase(string id, PhaseKind kind)
    {
        phases.Add((id, kind, []));
        return this;
    }

    public CycleScript Pass(params Step[] steps)
    {
        phases[^1].Passes.Add([.. steps]);
        return this;
    }

    public CycleRecord Build()
    {
        var at = 0.0;
        var records = new List<PhaseRecord>();
        foreach (var (id, kind, passes) in phases)
        {
            var passRecords = new List<PassRecord>();
            foreach (var steps in passes)
            {
                var stepRecords = new List<StepRecord>();
                foreach (var step in steps)
                {
                    var (start, end) = (EdgeAt(at), EdgeAt(at + step.Seconds));
                    stepRecords.Add(new StepRecord { Kind = step.Kind, Start = start, End = end, Held = start.Until(end), Seen = step.Seen, Interrupted = step.Interrupted });
                    at += step.Seconds;
                }

                passRecords.Add(new PassRecord(passRecords.Count + 1, stepRecords));
            }

            var (first, last) = (passRecords[0].Steps[0].Start, passRecords[^1].Steps[^1].End);
            records.Add(new PhaseRecord(id, kind, first, last, first.Until(last), passRecords));
        }

        return new CycleRecord
        {
            Id = "w1-20310305T080000.000",
            Washer = "w1",
            Start = EdgeAt(0),
            End = EdgeAt(at),
            Outcome = Outcome,
            StartUnseen = StartUnseen,
            Phases = records,
            Stations = Stations,
            Gaps = [.. Gaps.Select(g => new TimeBounds(Wall(g.From), Wall(g.To)))],
            Pauses = [],
        };
    }

    private Edge EdgeAt(double seconds)
    {
        var (earliest, latest) = (At(seconds - (EdgeWidth / 2)), At(seconds + (EdgeWidth / 2)));
        return new Edge(StartUnseen && seconds == 0 ? latest.SomeTimeBefore() : earliest, latest);
    }

    internal sealed record Step(StepKind Kind, double Seconds, bool Seen = true, bool Interrupted = false);

    /// <summary>Frames that show the sequence being read every second, so that the cycle has a time line.</summary>
    public static IReadOnlyList<Frame> Heartbeats(double from, double to) =>
        [.. Enumerable.Range(0, (int)(to - from) + 1).Select(i => new Frame { Washer = "w1", Group = 0, Kind = FrameKind.Changes, Read = TimeBounds.At(Wall(from + i)) })];
}
