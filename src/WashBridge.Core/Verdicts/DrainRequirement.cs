using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;

namespace WashBridge.Core.Verdicts;

/// <summary>Every drain was dry in time.</summary>
internal static class DrainRequirement
{
    private static readonly Measurement Unknown = new(0, null, "s");

    public static Finding Judge(DrainLimit requirement, CycleView view, StationRecord station, DecisionRule rule)
    {
        var limit = requirement.AtMost.TotalSeconds;
        var phases = view.Cycle.Phases.Where(p => requirement.Phases.Count == 0 || requirement.Phases.Contains(p.Id)).ToList();
        var drains = station.Drains.Where(d => phases.Exists(p => p.Id == d.Phase)).ToList();
        var steps = phases.SelectMany(p => p.Passes.SelectMany(pass => pass.Steps)).Count(s => s.Kind == StepKind.Drain);
        if (drains.Count == 0)
        {
            return steps > 0
                ? Finding.NotProven("No drain was measured: the tag map lacks drain.dry, or it was never read: not proven.", Unknown, limit)
                : Finding.NotProven("No drain step was seen: not proven.", Unknown, limit);
        }

        var worst = drains
            .Select(d => Finding.OfLimits(Time(d, view), null, limit, rule, Sentence(d)))
            .MaxBy(f => (Decision.Weight(f.Verdict), f.Measured!.Upper ?? double.PositiveInfinity))!;
        if (worst.Verdict != Verdict.Met)
        {
            return worst;
        }

        if (drains.Count < steps)
        {
            return worst with { Verdict = Verdict.NotProven, Evidence = $"{drains.Count} of {steps} drains were measured and in time, the others were not measured: not proven." };
        }

        return CanHideDrains(requirement, phases, view)
            ? worst with { Verdict = Verdict.NotProven, Evidence = "Every drain that was watched was in time, but the cycle was stopped, or part of it was not watched: not proven." }
            : worst;
    }

    /// <summary>
    /// A sensor that serves several stations tells when the slowest was dry: this one can have been dry at any time before. What the sensor
    /// read in a gap or a pause, when nobody knew which step it was, need not be of this drain.
    /// </summary>
    private static Measurement Time(DrainRecord drain, CycleView view)
    {
        var until = drain.Dry?.Latest ?? EndOf(drain, view);
        if (view.HasGap(drain.Start.Latest, until) || view.IsUnseenStart(drain.Start))
        {
            return new Measurement(0, null, "s");
        }

        if (view.HasPause(drain.Start.Earliest, until))
        {
            var longest = drain.Dry is { } end ? view.WithPauses(drain.Start).Until(end) : DurationBounds.Unknown;
            return new Measurement(0, longest.IsUpperKnown ? longest.Upper.TotalSeconds : null, "s");
        }

        var measured = drain.Dry is { } dry ? Measurement.BetweenEdges(drain.Start, dry, drain.Time) : new Measurement(drain.Time.Lower.TotalSeconds, null, "s");
        return drain.Shared && view.Cycle.Stations.Count(s => s.KegPresent != false) > 1 ? new Measurement(0, measured.Upper, "s") : measured;
    }

    private static Moment EndOf(DrainRecord drain, CycleView view) =>
        (view.Passes(drain.Phase).SelectMany(p => p.Pass.Steps).FirstOrDefault(s => s.Start == drain.Start)?.End ?? view.Cycle.End).Latest;

    /// <summary>Not every drain of the programme is in the record: one lies in a gap, or the programme was stopped before it, or just as it began.</summary>
    private static bool CanHideDrains(DrainLimit requirement, List<PhaseRecord> phases, CycleView view) =>
        view.Cycle.Outcome == CycleOutcome.Aborted
        || (requirement.Phases.Count == 0 ? !view.IsWhole : phases.Exists(view.CanHide) || (!view.IsWhole && phases.Count < requirement.Phases.Count));

    private static string Sentence(DrainRecord drain)
    {
        var shared = drain.Shared ? " (one sensor for all stations)" : "";
        var dry = drain.Dry is null ? "never read dry; its drain took" : "was dry after";
        return $"The drain of {drain.Phase} (pass {drain.Pass}){shared} {dry}";
    }
}
