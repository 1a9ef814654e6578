using WashBridge.Core.Time;

namespace WashBridge.Core.Cycles.Segmenting;

/// <summary>How a cycle begins.</summary>
/// <param name="Start">Of the cycle.</param>
/// <param name="Step">Of the first step seen.</param>
/// <param name="Place">That step.</param>
/// <param name="StartUnseen">See <see cref="CycleRecord.StartUnseen"/>.</param>
/// <param name="Gap">The gap in which it began.</param>
/// <param name="Before">Steps that can have run before the first one seen.</param>
internal readonly record struct Opening(Edge Start, Edge Step, Place Place, bool StartUnseen = false, TimeBounds? Gap = null, IEnumerable<Place>? Before = null);

/// <summary>Carries out what the fold decided: keeps the open cycle and writes its events.</summary>
internal sealed class CycleWriter(WasherModel model, ProgrammeOrder order, SegmenterState state, EventLog events, DrainSensors drains, Kegs kegs)
{
    public void Start(Opening opening, bool paused)
    {
        Begin(opening);
        Unseen(opening.Before ?? [], opening.Step);
        StartStep(opening.Place, opening.Step);
        if (paused)
        {
            PauseAt(opening.Step);
        }
    }

    /// <summary>A cycle ran of which no step could be placed: its kegs must not be missed.</summary>
    public void Unplaced(Edge start, Edge end, CycleOutcome outcome)
    {
        var cycle = Begin(new Opening(start, start, default, StartUnseen: true, EventLog.At(new Edge(start.Earliest, end.Latest))));
        events.CycleEnded(CycleRecords.Make(model.Washer, cycle, end, outcome));
        state.Cycle = null;
    }

    /// <summary>The cycle goes on: in the same step (null) or in another, after steps that nobody saw.</summary>
    public void Go(Place? next, Edge edge, IEnumerable<Place> unseen, bool paused)
    {
        var cycle = state.Cycle!;
        if (cycle.Pause is not null && !paused)
        {
            ResumeAt(edge);
        }

        if (next is { } place)
        {
            var change = state.OfStep(edge);
            EndStep(change, interrupted: false);
            Unseen(unseen, change);
            StartStep(place, change);
        }

        if (paused && cycle.Pause is null)
        {
            PauseAt(edge);
        }
    }

    /// <summary>Nothing was seen until <paramref name="now"/>: whatever ran before is not assumed to have run on.</summary>
    /// <param name="gap">To be recorded.</param>
    /// <param name="now">Watched again since then, at the latest.</param>
    /// <param name="isRestart">The cycle can have been started anew in the gap: what was seen of it before counts for nothing.</param>
    public void Bridge(TimeBounds gap, Moment now, bool isRestart)
    {
        var cycle = state.Cycle!;
        cycle.Gaps.Add(gap);
        StopWatching(cycle);
        drains.CatchUp(now);
        kegs.CatchUp();
        if (cycle.Pause is { } pause)
        {
            pause.WatchedSince = now;
        }
        else
        {
            cycle.Step.RunningSince = now;
        }

        if (isRestart)
        {
            cycle.Start = cycle.Start with { Latest = now };
            cycle.Step.Start = cycle.Step.Start with { Latest = now };
            cycle.Step.Longest = TimeSpan.Zero;
            cycle.Step.Paused = TimeSpan.Zero;
        }
    }

    public void End(CycleOutcome outcome, Edge edge, TimeBounds? gap = null, IEnumerable<Place>? rest = null)
    {
        var cycle = state.Cycle!;
        if (gap is { } bounds)
        {
            cycle.Gaps.Add(bounds);
        }

        EndStep(state.OfStep(edge), outcome == CycleOutcome.Aborted);
        if (cycle.Pause is not null)
        {
            cycle.Pauses.Add(Finished(cycle.Pause, edge));
        }

        Unseen(rest ?? [], state.OfStep(edge));
        events.CycleEnded(CycleRecords.Make(model.Washer, cycle, edge, outcome));
        state.Cycle = null;
    }

    private OpenCycle Begin(Opening opening)
    {
        var cycle = new OpenCycle
        {
            Id = events.CycleId(opening.Start.Latest),
            Start = opening.Start,
            StartUnseen = opening.StartUnseen,
            Stations = kegs.AtStart(),
        };
        if (opening.Gap is { } gap)
        {
            cycle.Gaps.Add(gap);
        }

        state.Cycle = cycle;
        Facts.Take(state, cycle);
        events.CycleStarted(cycle);
        return cycle;
    }

    private void StartStep(Place place, Edge edge)
    {
        var cycle = state.Cycle!;
        var phase = order[place.Phase];
        cycle.Step = new OpenStep
        {
            Phase = phase.Id,
            PhaseKind = phase.Kind,
            Pass = place.Pass,
            Kind = place.Step,
            Index = place.Index,
            Start = edge,
            RunningSince = cycle.Pause is null ? edge.Latest : null,
        };
        if (cycle.Pause is { } pause)
        {
            pause.WatchedSince = edge.Latest;
        }

        if (place.Step == StepKind.Drain)
        {
            drains.Begin(cycle.Step);
        }

        events.StepStarted(cycle);
    }

    private void EndStep(Edge edge, bool interrupted)
    {
        var cycle = state.Cycle!;
        var step = cycle.Step;
        StopWatching(cycle);
        foreach (var (station, drain) in drains.Finish(step))
        {
            events.DrainMeasured(cycle, station, drain, edge);
            cycle.Stations.Find(s => s.Station == station)?.Drains.Add(drain);
        }

        var held = step.Start.Until(edge);
        var upper = held.IsUpperKnown ? Max(step.Longest, held.Upper - step.Paused) : TimeSpan.MaxValue;
        Finish(step.Phase, step.PhaseKind, step.Pass, new StepRecord
        {
            Kind = step.Kind,
            Start = step.Start,
            End = edge,
            Held = new DurationBounds(step.Longest, upper),
            Interrupted = interrupted,
        });
    }

    private void Unseen(IEnumerable<Place> places, Edge between)
    {
        foreach (var place in places)
        {
            Finish(order[place.Phase].Id, order[place.Phase].Kind, place.Pass, new StepRecord
            {
                Kind = place.Step,
                Start = between,
                End = between,
                Held = between.Until(between) with { Lower = TimeSpan.Zero },
                Seen = false,
            });
        }
    }

    private void Finish(string phase, PhaseKind kind, int pass, StepRecord record)
    {
        var cycle = state.Cycle!;
        var step = new FinishedStep { Phase = phase, PhaseKind = kind, Pass = pass, Step = record };
        events.StepEnded(cycle, step);
        cycle.Steps.Add(step);
    }

    private void PauseAt(Edge edge)
    {
        var cycle = state.Cycle!;
        StopWatching(cycle);
        events.CyclePaused(cycle, edge);
        cycle.Pause = new OpenPause { Start = edge, WatchedSince = edge.Latest };
    }

    private void ResumeAt(Edge edge)
    {
        var cycle = state.Cycle!;
        StopWatching(cycle);
        var pause = Finished(cycle.Pause!, edge);
        events.CycleResumed(cycle, pause);
        cycle.Pauses.Add(pause);
        cycle.Pause = null;
        cycle.Step.RunningSince = edge.Latest;
    }

    private static Pause Finished(OpenPause pause, Edge end) => new(pause.Start, end, pause.Start.Until(end) with { Lower = pause.Longest });

    /// <summary>Counts the stretch that was watched up to the last reading, of running or of being paused.</summary>
    private void StopWatching(OpenCycle cycle)
    {
        var step = cycle.Step;
        if (step.RunningSince is { } running)
        {
            step.Longest = Max(step.Longest, Span(running, state.LastSeen));
            step.RunningSince = null;
        }

        if (cycle.Pause is { } pause)
        {
            var watched = Span(pause.WatchedSince, state.LastSeen);
            pause.Longest = Max(pause.Longest, watched);
            step.Paused += watched;
            pause.WatchedSince = state.LastSeen;
        }
    }

    private static TimeSpan Span(Moment from, Moment until) =>
        from.Epoch == until.Epoch && until.Steady > from.Steady ? until.Steady - from.Steady : TimeSpan.Zero;

    private static TimeSpan Max(TimeSpan a, TimeSpan b) => a > b ? a : b;
}
