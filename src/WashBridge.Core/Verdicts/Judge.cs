using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;

namespace WashBridge.Core.Verdicts;

/// <summary>From the record of a cycle and the readings behind it to a verdict for every keg. A pure function: same input, same verdicts.</summary>
public static class Judge
{
    /// <summary>The result that is added to every keg of a cycle that was not seen to run from its start to its end. No requirement may have this id.</summary>
    public const string ProgrammeComplete = "programme-complete";

    /// <summary>
    /// One verdict per station that has a keg, or is assumed to because nothing tells.
    /// </summary>
    /// <param name="cycle">The cycle as the segmenter recorded it.</param>
    /// <param name="frames">All frames of the washer, in order, from early enough before the cycle to hold a full frame of every group (samples come on change) to the frame that showed its end.</param>
    /// <param name="recipe">The approved limits.</param>
    /// <param name="scans">Scans after the end of the previous cycle; those of other stations and later ones are ignored.</param>
    public static IReadOnlyList<KegVerdict> Decide(CycleRecord cycle, IReadOnlyList<Frame> frames, Recipe recipe, IReadOnlyList<KegScanned> scans)
    {
        ArgumentNullException.ThrowIfNull(cycle);
        ArgumentNullException.ThrowIfNull(frames);
        ArgumentNullException.ThrowIfNull(recipe);
        ArgumentNullException.ThrowIfNull(scans);
        var view = new CycleView(cycle, frames);
        var verdicts = new List<KegVerdict>();
        foreach (var station in cycle.Stations.Where(s => s.KegPresent != false))
        {
            var results = recipe.Requirements.Select(r => Find(r, view, station, recipe.Rule).For(r)).ToList();
            if (Incomplete(view) is { } incomplete)
            {
                results.Add(incomplete);
            }

            var (id, source) = KegIdOf(cycle, station, scans);
            verdicts.Add(new KegVerdict
            {
                KegId = id,
                KegIdSource = source,
                CycleId = cycle.Id,
                Washer = cycle.Washer,
                Station = station.Station,
                Recipe = recipe.Id,
                RecipeVersion = recipe.Version,
                Rule = recipe.Rule,
                Verdict = Decision.Worst(results.Select(r => r.Verdict)),
                Results = results,
            });
        }

        return verdicts;
    }

    private static Finding Find(Requirement requirement, CycleView view, StationRecord station, DecisionRule rule) => requirement switch
    {
        ContactTime contact => DurationRequirements.Judge(contact, view, rule),
        StepTime step => DurationRequirements.Judge(step, view, rule),
        PassCount passes => SequenceRequirements.Judge(passes, view, rule),
        SwingCount swings => SequenceRequirements.Judge(swings, view, rule),
        PhaseOrder order => SequenceRequirements.Judge(order, view),
        TimeBeyond beyond => QuantityRequirements.Judge(beyond, view, station, rule),
        ThermalDose dose => QuantityRequirements.Judge(dose, view, station, rule),
        DrainLimit drains => DrainRequirement.Judge(drains, view, station, rule),
        ResidualOxygen oxygen => OxygenRequirement.Judge(oxygen, view, station, rule),
        _ => Finding.NotProven($"Nothing here can judge a requirement of type {requirement.GetType().Name}: not proven."),
    };

    /// <summary>A recipe's limits may all have been reached before a programme was stopped: that still is no washed keg.</summary>
    private static RequirementResult? Incomplete(CycleView view)
    {
        (Verdict Verdict, string Evidence)? found = view switch
        {
            { Cycle.Outcome: CycleOutcome.Aborted } => (Verdict.NotMet, "The controller left the programme before its last phase ended: not met."),
            { Cycle.Outcome: CycleOutcome.EndUnseen } => (Verdict.NotProven, "Nobody saw the end of the programme: not proven."),
            { BeganUnseen: true } => (Verdict.NotProven, "Nobody saw the programme begin at its first step: not proven."),
            _ => null,
        };
        return found is var (verdict, evidence) ? new RequirementResult { Requirement = ProgrammeComplete, Verdict = verdict, Evidence = evidence } : null;
    }

    private static (string Id, KegIdSource Source) KegIdOf(CycleRecord cycle, StationRecord station, IReadOnlyList<KegScanned> scans)
    {
        if (!string.IsNullOrWhiteSpace(station.KegTag))
        {
            return (station.KegTag.Trim(), KegIdSource.Tag);
        }

        var scan = scans
            .Where(s => s.Washer == cycle.Washer && s.Station == station.Station && s.At.Latest < cycle.End.Latest.Wall && !string.IsNullOrWhiteSpace(s.KegId))
            .OrderBy(s => s.At.Latest)
            .LastOrDefault();
        return scan is null ? ($"{cycle.Id}-s{station.Station}", KegIdSource.Made) : (scan.KegId.Trim(), KegIdSource.Scan);
    }
}
