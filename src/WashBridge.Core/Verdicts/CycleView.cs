using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Core.Verdicts;

/// <summary>Questions that requirements ask of a cycle record.</summary>
internal sealed class CycleView
{
    private readonly List<Edge> gaps;
    private readonly IReadOnlyList<Frame> frames;
    private readonly Dictionary<(int Station, string Signal), IReadOnlyList<Reading>> readings = [];

    public CycleView(CycleRecord cycle, IReadOnlyList<Frame> frames)
    {
        Cycle = cycle;
        this.frames = frames;
        Line = SteadyLine.Of(cycle, frames);

        // Gaps that cannot be placed may lie anywhere.
        gaps = [.. cycle.Gaps.Select(gap => Line.IsFastened ? Line.Place(gap) : new Edge(cycle.Start.Earliest, cycle.End.Latest))
            .Order(Comparer<Edge>.Create((a, b) => SteadyLine.Compare(a.Earliest, b.Earliest)))];
    }

    public CycleRecord Cycle { get; }

    public SteadyLine Line { get; }

    /// <summary>
    /// The programme was already running when watching began, or the first step seen is not its first: a controller that restarts can show idle for a
    /// moment and then go on where it was, so that what came before may have begun long before the record does.
    /// </summary>
    public bool BeganUnseen => Cycle.StartUnseen || Steps.FirstOrDefault() is { Seen: false };

    /// <summary>Every step of the cycle was watched: what is not in the record did not happen.</summary>
    public bool IsWhole => !BeganUnseen && Cycle.Outcome != CycleOutcome.EndUnseen && gaps.Count == 0;

    public IReadOnlyList<PhaseRecord> Phases(string id) => [.. Cycle.Phases.Where(p => p.Id == id)];

    /// <summary>The passes of a phase; of all its runs when the controller went back to it.</summary>
    public IReadOnlyList<PassView> Passes(string id) => [.. Phases(id).SelectMany(p => p.Passes.Select(pass => new PassView(p, pass)))];

    /// <summary>Readings of a signal at a station, or of the washer where the station has none of its own; empty when none came.</summary>
    public IReadOnlyList<Reading> Readings(int station, string signal)
    {
        if (!readings.TryGetValue((station, signal), out var found))
        {
            readings[(station, signal)] = found = Signals.Readings.Of(frames, Cycle.Washer, station, signal, Line);
        }

        return found;
    }

    /// <summary>The stretches in which the phase certainly ran and was watched: from its first step seen to its last, without the gaps.</summary>
    public IEnumerable<(Moment From, Moment To)> SeenStretches(PhaseRecord phase)
    {
        var seen = phase.Passes.SelectMany(p => p.Steps).Where(s => s.Seen).ToList();
        return seen.Count == 0 ? [] : WatchedStretches(seen[0].Start.Latest, WithPauses(seen[^1].End).Earliest);
    }

    /// <summary>Part of this phase can have happened unseen: a gap touches it, or it lies at an end of the cycle that nobody saw.</summary>
    public bool CanHide(PhaseRecord phase) =>
        HasGap(phase.Start.Earliest, phase.End.Latest)
        || IsUnseenStart(phase.Start)
        || (Cycle.Outcome == CycleOutcome.EndUnseen && phase == Cycle.Phases[^1]);

    /// <summary>The start of the first step that was seen, or of one that nobody saw before it, where it can have been at any time before.</summary>
    public bool IsUnseenStart(Edge edge) =>
        BeganUnseen && Steps.FirstOrDefault(s => s.Seen) is { } first && SteadyLine.Compare(edge.Latest, first.Start.Latest) <= 0;

    private IEnumerable<StepRecord> Steps => Cycle.Phases.SelectMany(p => p.Passes).SelectMany(p => p.Steps);

    /// <summary>
    /// A paused controller may not tell its place: an edge seen as a pause ends can have come just before the pause began, between two polls.
    /// </summary>
    public Edge WithPauses(Edge edge) => Cycle.Pauses
        .Where(p => SteadyLine.Compare(p.Start.Earliest, edge.Earliest) < 0 && SteadyLine.Compare(edge.Earliest, p.End.Latest) <= 0)
        .Aggregate(edge, (e, p) => e with { Earliest = SteadyLine.Min(e.Earliest, p.Start.Earliest) });

    public bool HasPause(Moment from, Moment to) => Cycle.Pauses.Any(p => Touches(new Edge(p.Start.Earliest, p.End.Latest), from, to));

    public bool HasGap(Moment from, Moment to) => gaps.Exists(g => Touches(g, from, to));

    /// <summary>
    /// How long it was from one edge to another. A gap breaks the proof: the lower bound is then the longest stretch that was watched.
    /// </summary>
    public DurationBounds Watched(Edge from, Edge to)
    {
        (from, to) = (WithPauses(from), WithPauses(to));
        var bounds = from.Until(to);
        var lower = WatchedStretches(from.Latest, to.Earliest).Select(s => SteadyLine.Between(s.From, s.To) ?? TimeSpan.Zero).DefaultIfEmpty(TimeSpan.Zero).Max();
        return new DurationBounds(lower < bounds.Lower ? lower : bounds.Lower, IsUnseenStart(from) ? TimeSpan.MaxValue : bounds.Upper);
    }

    /// <summary>The parts of a window in which the sequence was watched without a gap, in order.</summary>
    public IEnumerable<(Moment From, Moment To)> WatchedStretches(Moment from, Moment to)
    {
        var at = from;
        foreach (var gap in gaps.Where(g => Touches(g, from, to)))
        {
            if (SteadyLine.Compare(gap.Earliest, at) > 0)
            {
                yield return (at, gap.Earliest);
            }

            at = SteadyLine.Max(at, gap.Latest);
        }

        if (SteadyLine.Compare(at, to) < 0)
        {
            yield return (at, to);
        }
    }

    private static bool Touches(Edge gap, Moment from, Moment to) =>
        SteadyLine.Compare(gap.Earliest, to) < 0 && SteadyLine.Compare(gap.Latest, from) > 0;
}

internal sealed record PassView(PhaseRecord Phase, PassRecord Pass)
{
    /// <summary>The named edge, and whether anybody saw what it belongs to; null when the pass has no such step.</summary>
    public (Edge Edge, bool Seen)? Find(EdgeName name)
    {
        if (name.Step is not { } kind)
        {
            var whole = name.Side == EdgeSide.Start ? Phase.Start : Phase.End;
            var ends = name.Side == EdgeSide.Start ? Phase.Passes[0].Steps[0] : Phase.Passes[^1].Steps[^1];
            return (whole, ends.Seen);
        }

        // A step that was left and entered again within a pass: from its first start to its last end.
        var step = name.Side == EdgeSide.Start ? Pass.Steps.FirstOrDefault(s => s.Kind == kind) : Pass.Steps.LastOrDefault(s => s.Kind == kind);
        return step is null ? null : (name.Side == EdgeSide.Start ? step.Start : step.End, step.Seen);
    }
}
