using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;

namespace WashBridge.Web.Pages.Cycles;

/// <summary>A bar between two edges. What is drawn solid certainly happened; an edge can lie anywhere in its own stretch.</summary>
/// <param name="Start">Earliest and latest start, seconds since the strip's origin.</param>
/// <param name="End">Earliest and latest end.</param>
/// <param name="Label">For people.</param>
/// <param name="Kind">A class of the style sheet.</param>
public sealed record StripBar(StripEdge Start, StripEdge End, string Label, string Kind)
{
    public bool IsStartOpen { get; init; }

    public bool IsEndOpen { get; init; }
}

/// <summary>Where an edge can lie: seconds since the strip's origin.</summary>
public readonly record struct StripEdge(double Earliest, double Latest)
{
    public double Width => Latest - Earliest;
}

/// <summary>What is asked of a time: from where it counts and where it is long enough (or too long).</summary>
/// <param name="Short">The limit alone, to stand beside its mark.</param>
/// <param name="IsMost">At most: what it measures must end before; otherwise it must end after.</param>
public sealed record StripLimit(double From, double Until, string Label, string Short, bool IsMost);

public sealed record StripLane(string Title, string Kind, IReadOnlyList<StripBar> Bars)
{
    public IReadOnlyList<StripLimit> Limits { get; init; } = [];
}

/// <summary>Stretches across all lanes, in which nobody knows what happened or nothing went on.</summary>
public sealed record StripAcross(double From, double Until, string Label, string Kind);

/// <summary>
/// A cycle laid out on a line of time: phases, passes, steps, each station's drains, and what the recipe asks. Places are seconds on the cycle's steady time, so that
/// a clock that was set moves nothing; pure, so that it is tested without a picture.
/// </summary>
public sealed record CycleStrip
{
    /// <summary>What the wall clock read at second 0: the earliest start.</summary>
    public required Instant Origin { get; init; }

    /// <summary>Seconds from the origin to the latest end.</summary>
    public required double Length { get; init; }

    public required IReadOnlyList<StripLane> Lanes { get; init; }

    public required IReadOnlyList<StripAcross> Across { get; init; }

    /// <summary>The clock was set during the cycle: wall-clock times beside it do not count on evenly.</summary>
    public required bool IsClockSet { get; init; }

    internal static CycleStrip Of(CycleRecord cycle, Recipe? recipe, WashWords words, Func<string, object[], string> text)
    {
        var place = new StripPlace(cycle);
        var steps = cycle.Phases.SelectMany(p => p.Passes.SelectMany(pass => pass.Steps.Select(step => (Phase: p, Pass: pass, Step: step)))).ToList();
        var limits = recipe is null ? [] : new StripLimits(cycle, place, text).Of(recipe).ToList();
        List<StripLane> lanes =
        [
            new(text("lane.phases", []), "phases", [.. cycle.Phases.Select((p, i) => place.Bar(p.Start, p.End, p.Id, i % 2 == 0 ? "phase" : "phase other"))]),
            new(text("lane.passes", []), "passes", [.. cycle.Phases.SelectMany(p => p.Passes.Select(pass => place.Bar(pass.Steps[0].Start, pass.Steps[^1].End, text("pass", [pass.Number]), "pass")))]),
            new(text("lane.steps", []), "steps", [.. steps.Select(s => place.Bar(s.Step.Start, s.Step.End, words.Of(s.Step.Kind) + (s.Step.Seen ? "" : " " + text("unseen", [])), Kind(s.Step)))])
            {
                Limits = [.. limits.Where(l => !l.IsDrain).Select(l => l.Limit)],
            },
        ];
        foreach (var station in cycle.Stations.Where(s => s.KegPresent != false))
        {
            lanes.Add(new StripLane(text("lane.drains", [station.Station]), "drains", [.. station.Drains.Select(d => place.Bar(
                d.Start, d.Dry ?? EndOf(d, steps.Select(s => s.Step)) ?? cycle.End, text(d.Dry is null ? "drain.never" : "drain", [words.Of(d.Time)]), d.Dry is null ? "drain never" : "drain"))])
            {
                Limits = [.. limits.Where(l => l.IsDrain && l.Station == station.Station).Select(l => l.Limit)],
            });
        }

        return new CycleStrip
        {
            Origin = place.Origin,
            Length = place.Length,
            Lanes = lanes,
            Across =
            [
                .. cycle.Pauses.Select(p => new StripAcross(place.Of(p.Start.Earliest), place.Of(p.End.Latest), text("pause", [words.Of(p.Duration)]), "pause")),
                .. cycle.Gaps.Select(g => new StripAcross(place.OfWall(g.Earliest), place.OfWall(g.Latest), text("gap", []), "gap")),
            ],
            IsClockSet = place.IsClockSet,
        };
    }

    private static string Kind(StepRecord step) => (step.Kind switch
    {
        StepKind.WallSpray => "wall-spray",
        StepKind.SpearRinse => "spear-rinse",
        StepKind.Hold => "hold",
        StepKind.Drain => "drain-step",
        StepKind.Pressurise => "pressurise",
        _ => "vent",
    }) + (step.Seen ? "" : " unseen-step");

    private static Edge? EndOf(DrainRecord drain, IEnumerable<StepRecord> steps) => steps.FirstOrDefault(s => s.Start == drain.Start)?.End;
}

/// <summary>From moments to seconds on the strip.</summary>
internal sealed class StripPlace
{
    private readonly Moment _first;

    public StripPlace(CycleRecord cycle)
    {
        _first = cycle.Start.Earliest.IsKnown ? cycle.Start.Earliest : cycle.Start.Latest;
        Length = Math.Max(1, Of(cycle.End.Latest));
        var shift = _first.Wall.UnixMicroseconds - _first.Steady.UnixMicroseconds;
        IsClockSet = cycle.Phases.SelectMany(p => new[] { p.Start, p.End }).SelectMany(e => new[] { e.Earliest, e.Latest })
            .Any(m => m.IsKnown && (m.Epoch != _first.Epoch || m.Wall.UnixMicroseconds - m.Steady.UnixMicroseconds != shift));
    }

    public Instant Origin => _first.Wall;

    public double Length { get; }

    public bool IsClockSet { get; }

    /// <summary>Where no steady time connects a moment with the start, the wall clock must do.</summary>
    public double Of(Moment at) => Math.Max(0, at.IsKnown && at.Epoch == _first.Epoch ? (at.Steady - _first.Steady).TotalSeconds : (at.Wall - _first.Wall).TotalSeconds);

    public double OfWall(Instant at) => Math.Clamp((at - _first.Wall).TotalSeconds, 0, Length);

    public StripEdge Of(Edge edge)
    {
        var (a, b) = (edge.Earliest.IsKnown ? Of(edge.Earliest) : 0, edge.Latest.IsKnown ? Of(edge.Latest) : Length);
        return new StripEdge(Math.Min(a, b), Math.Max(a, b));
    }

    public StripBar Bar(Edge start, Edge end, string label, string kind) => new(Of(start), Of(end), label, kind) { IsStartOpen = !start.Earliest.IsKnown, IsEndOpen = !end.Latest.IsKnown };
}
