using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;

namespace WashBridge.Core.Verdicts;

/// <summary>Requirements on what ran, how often and in which order.</summary>
internal static class SequenceRequirements
{
    /// <summary>
    /// A pass counts when each of its steps was watched from the first sight of it to its end and none was cut short; any other pass only can
    /// have been one. A step whose end lies in a gap may have been cut short there. A stop in the programme's very last step
    /// looks like its end: only a limit on that step's time tells.
    /// </summary>
    public static Finding Judge(PassCount requirement, CycleView view, DecisionRule rule)
    {
        var passes = view.Passes(requirement.Phase);
        var proven = passes.Count(p => p.Pass.Steps.All(s => IsProven(s, view)) && !IsCutOff(p, view));
        return Count(requirement.Phase, proven, passes.Count, "passes", requirement.AtLeast, view, rule);
    }

    /// <summary>A swing is a pressurise step and the vent that follows it in the same phase.</summary>
    public static Finding Judge(SwingCount requirement, CycleView view, DecisionRule rule)
    {
        var swings = view.Phases(requirement.Phase).SelectMany(Swings).ToList();
        return Count(requirement.Phase, swings.Count(s => IsProven(s.Pressurise, view) && IsProven(s.Vent, view)), swings.Count, "swings", requirement.AtLeast, view, rule);
    }

    /// <summary>
    /// Each phase's last run counts: a wash that was repeated after the sanitise spoils the order, however good the first round was.
    /// </summary>
    public static Finding Judge(PhaseOrder requirement, CycleView view)
    {
        var after = -1;
        foreach (var id in requirement.Phases)
        {
            var at = LastIndexOf(view.Cycle.Phases, id);
            if (at < 0)
            {
                return Finding.Absent(view, $"{id} did not run", "") with { Measured = null };
            }

            if (at < after)
            {
                return Finding.Absent(view, $"{id} did not run after {view.Cycle.Phases[after].Id}", "") with { Measured = null };
            }

            var steps = view.Cycle.Phases[at].Passes.SelectMany(p => p.Steps).ToList();
            if (!steps.Exists(s => s.Seen))
            {
                return Finding.NotProven($"The programme demands {id}, but nobody saw it run: not proven.");
            }

            if (steps.Exists(s => s.Interrupted))
            {
                return Finding.NotProven($"{id} was cut short: not proven that it ran to its end.");
            }

            if (view.Cycle.Outcome == CycleOutcome.EndUnseen && !view.Cycle.Phases.Skip(at + 1).Any(p => p.Passes.Any(pass => pass.Steps.Any(s => s.Seen))))
            {
                return Finding.NotProven($"Nobody saw {id} end: not proven that it ran to its end.");
            }

            after = at;
        }

        return new Finding(Verdict.Met, null, null, $"Ran in the order asked ({Wording.List(requirement.Phases)}): met.");
    }

    /// <summary>Pressurise and vent pairs, in order.</summary>
    public static IEnumerable<(StepRecord Pressurise, StepRecord Vent)> Swings(PhaseRecord phase)
    {
        StepRecord? pressurise = null;
        foreach (var step in phase.Passes.SelectMany(p => p.Steps))
        {
            if (step.Kind == StepKind.Pressurise)
            {
                pressurise = step;
            }
            else if (step.Kind == StepKind.Vent && pressurise is not null)
            {
                yield return (pressurise, step);
                pressurise = null;
            }
        }
    }

    private static Finding Count(string phase, int proven, int possible, string what, int atLeast, CycleView view, DecisionRule rule)
    {
        var runs = view.Phases(phase);
        if (runs.Count == 0)
        {
            return Finding.Absent(view, $"{phase} did not run", "", atLeast);
        }

        var measured = Measurement.Count(proven, runs.Any(view.CanHide) ? null : possible);
        return Finding.OfLimits(measured, atLeast, null, rule, $"Complete {what} of {phase}:");
    }

    private static bool IsProven(StepRecord step, CycleView view) => step.Seen && !step.Interrupted && !view.HasGap(step.Start.Latest, step.End.Latest);

    /// <summary>The first pass when its beginning was not seen, the last when its end was not.</summary>
    private static bool IsCutOff(PassView pass, CycleView view) =>
        view.IsUnseenStart(pass.Pass.Steps[0].Start)
        || (view.Cycle.Outcome == CycleOutcome.EndUnseen && pass.Pass == view.Cycle.Phases[^1].Passes[^1]);

    private static int LastIndexOf(IReadOnlyList<PhaseRecord> phases, string id)
    {
        for (var i = phases.Count - 1; i >= 0; i--)
        {
            if (phases[i].Id == id)
            {
                return i;
            }
        }

        return -1;
    }
}
