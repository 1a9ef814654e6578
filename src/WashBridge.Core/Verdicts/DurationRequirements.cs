using WashBridge.Core.Recipes;

namespace WashBridge.Core.Verdicts;

/// <summary>Requirements on times between edges of the sequence.</summary>
internal static class DurationRequirements
{
    /// <summary>
    /// Elapsed time between two edges; a pause runs on, because the liquid stays where it is. Both edges in one phase: of the same pass.
    /// In two phases: from the last pass before to the first pass after, which is the shortest time that it can mean.
    /// </summary>
    public static Finding Judge(ContactTime requirement, CycleView view, DecisionRule rule)
    {
        var (from, to) = (requirement.From, requirement.To);
        foreach (var name in new[] { from, to })
        {
            if (view.Passes(name.Phase).Count == 0)
            {
                return Finding.Absent(view, $"{name.Phase} did not run", "s", Limit(requirement));
            }
        }

        return from.Phase == to.Phase ? WithinPhase(requirement, view, rule) : AcrossPhases(requirement, view, rule);
    }

    public static Finding Judge(StepTime requirement, CycleView view, DecisionRule rule)
    {
        var limit = (requirement.AtLeast ?? requirement.AtMost)?.TotalSeconds;
        var name = $"{Wording.Of(requirement.Step)} in {requirement.Phase}";
        if (view.Passes(requirement.Phase).Count == 0)
        {
            return Finding.Absent(view, $"{requirement.Phase} did not run", "s", limit);
        }

        var passes = view.Passes(requirement.Phase);
        if (!requirement.Total)
        {
            return EveryPassSeen(Worst(passes.Select(p => OfPass(requirement, p, view, rule))), requirement.Phase, view);
        }

        var held = passes.Select(p => Held(requirement, p, view)).OfType<Measurement>().ToList();
        if (held.Count == 0)
        {
            return Finding.Absent(view, $"{Sentence(name)} did not come", "s", limit);
        }

        var total = Measurement.Sum(held, "s");
        total = view.Phases(requirement.Phase).Any(view.CanHide) ? total.OpenAbove() : total;
        return Finding.OfLimits(total, requirement.AtLeast?.TotalSeconds, requirement.AtMost?.TotalSeconds, rule, $"{Sentence(name)} lasted in all");
    }

    private static Finding OfPass(StepTime requirement, PassView pass, CycleView view, DecisionRule rule)
    {
        var name = $"{Sentence(Wording.Of(requirement.Step))} in {requirement.Phase} (pass {pass.Pass.Number})";
        return Held(requirement, pass, view) is { } held
            ? Finding.OfLimits(held, requirement.AtLeast?.TotalSeconds, requirement.AtMost?.TotalSeconds, rule, $"{name} lasted")
            : Finding.Absent(view, $"{name} did not come", "s", (requirement.AtLeast ?? requirement.AtMost)?.TotalSeconds);
    }

    private static Finding WithinPhase(ContactTime requirement, CycleView view, DecisionRule rule)
    {
        var passes = view.Passes(requirement.From.Phase);

        // Edges of the phase as a whole are the same for every pass of it.
        var candidates = requirement.From.Step is null && requirement.To.Step is null ? passes.DistinctBy(p => p.Phase) : passes;
        var each = candidates.Select(pass => Between(requirement, view, rule, pass, pass)).ToList();
        return requirement.EveryPass
            ? EveryPassSeen(Worst(each), requirement.From.Phase, view)
            : each.MinBy(f => Decision.Weight(f.Verdict))!;
    }

    private static Finding AcrossPhases(ContactTime requirement, CycleView view, DecisionRule rule)
    {
        var before = view.Passes(requirement.From.Phase).LastOrDefault(p => p.Find(requirement.From) is not null);
        var after = view.Passes(requirement.To.Phase).FirstOrDefault(p => p.Find(requirement.To) is not null);
        return before is null || after is null
            ? Finding.Absent(view, $"{Sentence(Wording.Of(before is null ? requirement.From : requirement.To))} did not come", "s", Limit(requirement))
            : Between(requirement, view, rule, before, after);
    }

    private static Finding Between(ContactTime requirement, CycleView view, DecisionRule rule, PassView fromPass, PassView toPass)
    {
        var place = fromPass == toPass ? $" (pass {fromPass.Pass.Number})" : "";
        if (fromPass.Find(requirement.From) is not { } from)
        {
            return Finding.Absent(view, $"{Sentence(Wording.Of(requirement.From))}{place} did not come", "s", Limit(requirement));
        }

        if (toPass.Find(requirement.To) is not { } to)
        {
            return Finding.Absent(view, $"{Sentence(Wording.Of(requirement.To))}{place} did not come", "s", Limit(requirement));
        }

        var measured = Measurement.BetweenEdges(from.Edge, to.Edge, view.Watched(from.Edge, to.Edge));
        var what = $"From {Wording.Of(requirement.From)} to {Wording.Of(requirement.To)}{place} it was";
        if (!from.Seen || !to.Seen)
        {
            measured = measured.NotSeen();
            what = $"{Sentence(Wording.Of(from.Seen ? requirement.To : requirement.From))}{place} was not seen; the time can have been";
        }

        return Finding.OfLimits(measured, requirement.AtLeast?.TotalSeconds, requirement.AtMost?.TotalSeconds, rule, what);
    }

    /// <summary>
    /// Held without interruption: of several runs in one pass the longest counts, not their sum. What nobody saw counts only to the upper bound.
    /// Null when the pass has no such step.
    /// </summary>
    private static Measurement? Held(StepTime requirement, PassView pass, CycleView view)
    {
        var parts = pass.Pass.Steps.Where(s => s.Kind == requirement.Step).Select(step =>
        {
            var measured = Measurement.BetweenEdges(step.Start, step.End, step.Held);
            measured = view.IsUnseenStart(step.Start) ? measured.OpenAbove() : measured;
            return step.Seen ? measured : measured.NotSeen();
        }).ToList();
        return parts.Count > 1
            ? new Measurement(parts.Max(p => p.Lower), parts.Exists(p => p.Upper is null) ? null : parts.Max(p => p.Upper), "s")
            : parts.FirstOrDefault();
    }

    /// <summary>What holds for every pass seen is not proven for one that a gap can hide.</summary>
    private static Finding EveryPassSeen(Finding finding, string phase, CycleView view) => finding.Verdict == Verdict.Met && view.Phases(phase).Any(view.CanHide)
        ? finding with { Verdict = Verdict.NotProven, Evidence = $"Every pass of {phase} that was watched had it, but part of the phase was not watched: not proven." }
        : finding;

    private static Finding Worst(IEnumerable<Finding> findings) => findings.MaxBy(f => Decision.Weight(f.Verdict))!;

    private static double? Limit(ContactTime requirement) => (requirement.AtLeast ?? requirement.AtMost)?.TotalSeconds;

    private static string Sentence(string text) => char.ToUpperInvariant(text[0]) + text[1..];
}
