using WashBridge.Core.Time;

namespace WashBridge.Core.Cycles.Segmenting;

/// <summary>One reading of the sequence, placed in time.</summary>
/// <param name="Reading">What it showed.</param>
/// <param name="Earliest">It was not taken before this.</param>
/// <param name="Latest">What it shows for the first time had happened by then.</param>
internal readonly record struct Sight(Reading Reading, Moment Earliest, Moment Latest);

/// <summary>Decides what a reading of the sequence means for the cycle: goes on, has ended, or is another one.</summary>
internal sealed class CycleFold(WasherModel model, ProgrammeOrder order, SegmenterState state, CycleWriter writer)
{
    /// <summary>No washer runs so many steps in a cycle; a flag that flutters must not grow a record for ever.</summary>
    private const int MostSteps = 4096;

    /// <summary>Where the programme was at the last reading; null when idle, or in a phase that is no more in the programme.</summary>
    public Place? At => state.Cycle is { } cycle && order.IndexOf(cycle.Step.Phase) >= 0 ? CurrentPlace() : null;

    /// <summary>No gap lies between the last reading and a moment.</summary>
    public bool IsWatched(Moment now) =>
        state.Watching != Watching.Nothing && now.Epoch == state.LastSeen.Epoch && now.Steady - state.LastSeen.Steady <= model.GapLimit;

    public void Advance(Sight sight)
    {
        if (IsInDoubt(sight))
        {
            state.IdleInDoubt = state.IsIdleBroken ? sight : state.IdleInDoubt ?? sight;
            state.IsIdleBroken = false;
            state.IdleSeen = sight.Earliest;
            state.IsPositionKnown = false;
            return;
        }

        state.IsIdleBroken |= sight.Reading.Kind is ReadingKind.Unplaced or ReadingKind.Hidden;
        if (state.IdleInDoubt is { } first && !state.IsIdleBroken && (sight.Reading.Kind == ReadingKind.Idle || IsAnotherCycle(sight.Reading)))
        {
            // Believed now: idle since it was first seen.
            state.IdleInDoubt = null;
            Follow(first);
            state.See(state.IdleSeen, hidden: false);
        }

        Follow(sight);
        if (state.IsPositionKnown)
        {
            state.IdleInDoubt = null;
            state.IsIdleBroken = false;
        }
    }

    /// <summary>
    /// A controller that boots can show idle before it goes on where it was. So idle that comes after failed reads or a gap in mid-cycle is believed only
    /// when it has stood for the gap limit.
    /// </summary>
    private bool IsInDoubt(Sight sight) =>
        state.Watching == Watching.Cycle && sight.Reading is { Kind: ReadingKind.Idle, Fault: false }
        && (state.HasFailed || !IsWatched(sight.Latest))
        && (state.IdleInDoubt is not { } first || state.IsIdleBroken || (first.Latest.Epoch == sight.Latest.Epoch && sight.Latest.Steady - first.Latest.Steady <= model.GapLimit));

    /// <summary>What runs cannot be the cycle that was lost.</summary>
    private bool IsAnotherCycle(Reading reading) =>
        reading.Kind == ReadingKind.Step && (state.CountMoved || At is not { } at || order.Locate(reading, at) is null);

    private void Follow(Sight sight)
    {
        var watched = IsWatched(sight.Latest) && state.IdleInDoubt is null;
        state.IsPositionKnown = sight.Reading.Kind switch
        {
            ReadingKind.Unknown or ReadingKind.Unplaced => false,
            // Paused at a place that is not told proves nothing unless the place was seen just before.
            ReadingKind.Hidden => watched && state.Watching == Watching.Cycle,
            _ => true,
        };
        if (!state.IsPositionKnown)
        {
            if (sight.Reading.Kind == ReadingKind.Unplaced && state.Cycle is null)
            {
                state.UnplacedSince ??= new Edge(state.Watching == Watching.Nothing ? sight.Latest.SomeTimeBefore() : state.LastSeen, sight.Latest);
                state.UnplacedSeen = sight.Earliest;
            }

            return;
        }

        if (state.Watching == Watching.Cycle)
        {
            FromCycle(sight, watched);
        }
        else
        {
            FromRest(sight, watched);
        }

        state.LastFault = sight.Reading.Fault;
        state.UnplacedSince = null;
        state.CountMoved = false;
        state.ProgrammeMoved = false;
        state.See(sight.Earliest, sight.Reading.Kind == ReadingKind.Hidden);
    }

    private void FromRest(Sight sight, bool watched)
    {
        if (sight.Reading.Kind == ReadingKind.Idle)
        {
            if (state.UnplacedSince is { } since)
            {
                writer.Unplaced(since, new Edge(state.UnplacedSeen, sight.Latest), sight.Reading.Fault ? CycleOutcome.Aborted : CycleOutcome.EndUnseen);
            }

            state.Watching = Watching.Idle;
            return;
        }

        // After a fault the controller may show its last step until a person resets it.
        if (sight.Reading.Fault && state.Watching != Watching.Idle)
        {
            state.Watching = Watching.Stopped;
            return;
        }

        var place = order.Locate(sight.Reading, null)!.Value;
        if (state.Watching == Watching.Nothing)
        {
            var edge = new Edge(sight.Latest.SomeTimeBefore(), sight.Latest);
            writer.Start(new Opening(edge, edge, place, StartUnseen: true), sight.Reading.Paused);
        }
        else
        {
            var edge = new Edge(state.LastSeen, sight.Latest);
            writer.Start(new Opening(edge, edge, place, !watched, Gap(sight, watched), order.Between(null, place, !watched)), sight.Reading.Paused);
        }

        state.Watching = Watching.Cycle;
        if (sight.Reading.Fault && !state.LastFault)
        {
            writer.End(CycleOutcome.Aborted, new Edge(state.LastSeen, sight.Latest));
            state.Watching = Watching.Stopped;
        }
    }

    private void FromCycle(Sight sight, bool watched)
    {
        var reading = sight.Reading;
        var failed = reading.Fault && !state.LastFault;
        if (failed || reading.Kind == ReadingKind.Idle)
        {
            EndByController(sight, watched, failed);
            return;
        }

        if (reading.Kind == ReadingKind.Hidden)
        {
            writer.Go(null, new Edge(state.LastSeen, sight.Latest), [], reading.Paused);
            return;
        }

        var at = CurrentPlace();
        var place = order.IndexOf(state.Cycle!.Step.Phase) < 0 ? null : order.Locate(reading, at);
        if (place is { } next && state.Cycle.Steps.Count < MostSteps && (watched || MayGoOn(sight, at, next)))
        {
            GoOn(sight, watched, at, next);
        }
        else if (watched && place is null)
        {
            // Idle was shorter than a poll.
            var edge = new Edge(state.LastSeen, sight.Latest);
            var outcome = AtRest(sight.Latest);
            writer.End(outcome, edge, rest: outcome == CycleOutcome.EndUnseen ? order.Between(at, null, gap: true) : []);
            var first = order.Locate(reading, null)!.Value;
            writer.Start(new Opening(edge, edge, first, Before: order.Between(null, first, gap: false)), reading.Paused);
        }
        else
        {
            Part(sight, watched, isOther: place is null || state.CountMoved);
        }
    }

    private void GoOn(Sight sight, bool watched, Place at, Place next)
    {
        if (Gap(sight, watched) is { } gap)
        {
            var isRestart = !IsTooShortToReturn(sight.Latest);
            writer.Bridge(gap, sight.Latest, isRestart);
        }

        writer.Go(next == at ? null : next, new Edge(state.LastSeen, sight.Latest), next == at ? [] : order.Between(at, next, !watched), sight.Reading.Paused);
    }

    /// <summary>
    /// Whether what runs after a gap is the same cycle. A cycle that was started anew in the gap would need as long again to come to the place
    /// where this one was lost; if the gap was shorter, it goes on. In its very first step that can't be told from the time, and need
    /// not be: the start is then placed anywhere up to the end of the gap.
    /// </summary>
    private bool MayGoOn(Sight sight, Place at, Place next)
    {
        if (state.CountMoved || state.ProgrammeMoved || sight.Latest.Epoch != state.LastSeen.Epoch || sight.Latest.Steady - state.LastSeen.Steady > model.ShortestCycle)
        {
            return false;
        }

        // Where idle was seen in between, only the very same step can be what was lost.
        if (state.IdleInDoubt is not null && next != at)
        {
            return false;
        }

        return IsTooShortToReturn(sight.Latest) || (state.Cycle!.Steps.Count == 0 && next == at);
    }

    private bool IsTooShortToReturn(Moment now) => now.Steady - state.LastSeen.Steady < TimeToHere(state.Cycle!);

    /// <summary>How long the controller took at least from the start to the step that runs, with nothing that need not come again.</summary>
    private static TimeSpan TimeToHere(OpenCycle cycle)
    {
        var time = cycle.Start.Until(cycle.Step.Start).Lower;
        foreach (var pause in cycle.Pauses)
        {
            time -= pause.Duration.IsUpperKnown ? pause.Duration.Upper : time;
        }

        foreach (var gap in cycle.Gaps)
        {
            time -= gap.Width;
        }

        return time;
    }

    private void EndByController(Sight sight, bool watched, bool failed)
    {
        var isLong = sight.Latest.Epoch != state.LastSeen.Epoch || sight.Latest.Steady - state.LastSeen.Steady > model.ShortestCycle;
        var outcome = failed && !isLong ? CycleOutcome.Aborted : !watched ? CycleOutcome.EndUnseen : AtRest(sight.Latest);
        var rest = outcome == CycleOutcome.EndUnseen ? order.Between(CurrentPlace(), null, gap: true) : [];
        writer.End(outcome, new Edge(state.LastSeen, sight.Latest), Gap(sight, watched), rest);
        state.Watching = sight.Reading.Kind == ReadingKind.Idle ? Watching.Idle : Watching.Stopped;
    }

    /// <summary>
    /// What a cycle came to that was watched until idle. The rest of the last phase can have run between the last reading and this
    /// one, unless a step of it took longer in an earlier pass.
    /// </summary>
    private CycleOutcome AtRest(Moment now)
    {
        var step = state.Cycle!.Step;
        if (order.IsLast(step))
        {
            return CycleOutcome.Completed;
        }

        if (!order.IsLastPhase(step))
        {
            return CycleOutcome.Aborted;
        }

        var room = now.Steady - state.LastSeen.Steady;
        var rest = order.Between(CurrentPlace(), null, gap: false);
        return state.Cycle.Steps.Exists(s => s.Phase == step.Phase && s.Step.Held.Lower > room && rest.Any(r => r.Step == s.Step.Kind)) ? CycleOutcome.Aborted : CycleOutcome.EndUnseen;
    }

    /// <summary>
    /// The cycle is not joined to what runs now. Unless the two are known to be different, it can be running still: then its end stays
    /// open, and the start of the new one may be its own.
    /// </summary>
    private void Part(Sight sight, bool watched, bool isOther)
    {
        var gap = Gap(sight, watched);
        var between = new Edge(state.LastSeen, sight.Latest);
        var place = order.Locate(sight.Reading, null)!.Value;
        var left = state.Cycle!;
        if (isOther)
        {
            writer.End(CycleOutcome.EndUnseen, between, gap, order.IndexOf(left.Step.Phase) < 0 ? [] : order.Between(CurrentPlace(), null, gap: true));
            writer.Start(new Opening(between, between, place, StartUnseen: true, gap, order.Between(null, place, gap: true)), sight.Reading.Paused);
            return;
        }

        writer.End(CycleOutcome.EndUnseen, between with { Latest = sight.Latest.SomeTimeAfter() }, gap);
        var isSame = left.Step.Phase == order[place.Phase].Id && left.Step.Kind == place.Step;
        var step = isSame ? new Edge(left.Step.Start.Earliest, sight.Latest) : state.OfStep(between);
        writer.Start(new Opening(new Edge(left.Start.Earliest, sight.Latest), step, place, StartUnseen: true, gap), sight.Reading.Paused);
    }

    private Place CurrentPlace()
    {
        var step = state.Cycle!.Step;
        return new Place(order.IndexOf(step.Phase), step.Pass, step.Index, step.Kind);
    }

    private TimeBounds? Gap(Sight sight, bool watched) => watched ? null : EventLog.At(new Edge(state.LastSeen, sight.Latest));
}
