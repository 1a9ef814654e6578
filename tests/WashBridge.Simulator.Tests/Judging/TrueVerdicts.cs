using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Simulator.Truth;

namespace WashBridge.Simulator.Tests.Judging;

/// <summary>What each requirement really came to, computed from the ground truth alone.</summary>
internal static class TrueVerdicts
{
    /// <summary>Whether the keg truly had it; null where the truth itself is open.</summary>
    public static bool? Holds(Requirement requirement, TrueCycle cycle, int station, IReadOnlyList<PhaseDefinition> programme) => requirement switch
    {
        ContactTime r => Passes(cycle, r.From.Phase).Any(p => Contact(r, p) is { } time && time >= (r.AtLeast ?? TimeSpan.Zero)),
        StepTime { Total: true } r => Steps(cycle, r).Aggregate(TimeSpan.Zero, (sum, s) => sum + s.Held!.Value) >= r.AtLeast,
        StepTime r => Passes(cycle, r.Phase).Any() && Passes(cycle, r.Phase).All(p => p.Steps.Any(s => s.Kind == r.Step && s.Held >= r.AtLeast)),
        PassCount r => Passes(cycle, r.Phase).Count(p => IsComplete(p, r.Phase, programme)) >= r.AtLeast,
        SwingCount r => Passes(cycle, r.Phase).Count(p => IsComplete(p, r.Phase, programme)) >= r.AtLeast,
        PhaseOrder r => r.Phases.All(id => Passes(cycle, id).Any(p => IsComplete(p, id, programme))),
        DrainLimit r => Drains(cycle, station).Any(d => IsInTime(d, cycle, r) == false) ? false
            : Drains(cycle, station).Any(d => IsInTime(d, cycle, r) is null) ? null : true,
        ResidualOxygen r => cycle.Kegs.Single(k => k.Station == station).Oxygen <= r.AtMost,
        _ => throw new ArgumentException($"no truth is known for {requirement.GetType().Name}", nameof(requirement)),
    };

    private static IEnumerable<TrueDrain> Drains(TrueCycle cycle, int station) => cycle.Drains.Where(d => d.Station == station);

    /// <summary>
    /// Open for a sensor that wavered about the limit, and for a drain with a pause in it, during which the controller, whose view the truth of a drain is, does not look.
    /// </summary>
    private static bool? IsInTime(TrueDrain drain, TrueCycle cycle, DrainLimit limit)
    {
        var isPaused = cycle.Pauses.Any(p => p.Start < (drain.End ?? TimeSpan.MaxValue) && (p.End ?? TimeSpan.MaxValue) > drain.Start);
        var (first, last) = (drain.FirstDry - drain.Start <= limit.AtMost, drain.Dry - drain.Start <= limit.AtMost);
        return isPaused || first != last ? null : first;
    }

    private static IEnumerable<TruePass> Passes(TrueCycle cycle, string phase) => cycle.Phases.Where(p => p.Id == phase).SelectMany(p => p.Passes);

    private static IEnumerable<TrueStep> Steps(TrueCycle cycle, StepTime r) =>
        Passes(cycle, r.Phase).SelectMany(p => p.Steps).Where(s => s.Kind == r.Step && s.End is not null);

    private static TimeSpan? Contact(ContactTime r, TruePass pass)
    {
        var from = pass.Steps.FirstOrDefault(s => s.Kind == r.From.Step);
        var to = pass.Steps.LastOrDefault(s => s.Kind == r.To.Step);
        return (r.To.Side == EdgeSide.Start ? to?.Start : to?.End) - (r.From.Side == EdgeSide.Start ? from?.Start : from?.End);
    }

    private static bool IsComplete(TruePass pass, string phase, IReadOnlyList<PhaseDefinition> programme) =>
        pass.Steps.Select(s => s.Kind).SequenceEqual(programme.Single(p => p.Id == phase).Steps) && pass.Steps.All(s => HasRun(s, programme));

    /// <summary>To its end. A stop in the very last step of the programme shows in nothing but that step's time: only a limit on it can tell.</summary>
    private static bool HasRun(TrueStep step, IReadOnlyList<PhaseDefinition> programme) =>
        step.End is not null && (!step.Interrupted || (step.Phase == programme[^1].Id && step.Kind == programme[^1].Steps[^1]));
}
