using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;

namespace WashBridge.Core.Verdicts;

/// <summary>Whether a washer's map lets one requirement be judged.</summary>
/// <param name="Requirement">Its id.</param>
/// <param name="CanJudge">True when nothing is missing at any station.</param>
/// <param name="Missing">What is missing, as <c>drain.dry of station 3</c>.</param>
/// <param name="Explanation">One sentence.</param>
public sealed record Coverage(string Requirement, bool CanJudge, IReadOnlyList<string> Missing, string Explanation);

/// <summary>Tells before the first cycle which requirements a tag map leaves unjudgeable: their verdict will always be not proven.</summary>
public static class Judgeability
{
    /// <summary>One answer per requirement, in the order of the recipe.</summary>
    public static IReadOnlyList<Coverage> Explain(Recipe recipe, WasherModel washer)
    {
        ArgumentNullException.ThrowIfNull(recipe);
        ArgumentNullException.ThrowIfNull(washer);
        return [.. recipe.Requirements.Select(r => Explain(r, washer))];
    }

    private static Coverage Explain(Requirement requirement, WasherModel washer)
    {
        List<string> missing = [.. Sequence(washer), .. Positions(requirement, washer), .. Signals(requirement, washer)];
        if (missing.Count > 0)
        {
            return new Coverage(requirement.Id, false, missing, $"Cannot be judged: the map lacks {Wording.List(missing)}.");
        }

        var isShared = requirement is DrainLimit && washer.Stations > 1 && !washer.Signals.Any(s => s is { Name: "drain.dry", Station: > 0 });
        return new Coverage(requirement.Id, true, [], isShared
            ? "Can be judged, but one drain sensor serves all stations: a slow drain leaves every keg of the cycle not proven."
            : "Can be judged.");
    }

    private static IEnumerable<string> Sequence(WasherModel washer) => washer.Sequence switch
    {
        StepRules rules => rules.Rules.SelectMany(r => r.When.Keys).Distinct().Where(name => !washer.Signals.Any(s => s.Name == name)),
        _ => washer.Signals.Any(s => s.Name == "sequence.step") ? [] : ["sequence.step"],
    };

    /// <summary>Steps that no step code and no rule leads to will never be seen.</summary>
    private static IEnumerable<string> Positions(Requirement requirement, WasherModel washer)
    {
        HashSet<(string, StepKind)> seen = washer.Sequence switch
        {
            StepTable table => [.. table.Codes.Values.Select(p => (p.Phase, p.Step))],
            StepRules rules => [.. rules.Rules.SelectMany(r => r.Phases.Select(p => (p, r.Step)))],
            _ => [],
        };
        return Needed(requirement)
            .Where(n => !(n.Step is { } step ? seen.Contains((n.Phase, step)) : seen.Any(s => s.Item1 == n.Phase)))
            .Select(n => n.Step is { } step ? $"a step code or rule for {Wording.Of(step)} in {n.Phase}" : $"a step code or rule for {n.Phase}")
            .Distinct();
    }

    private static IEnumerable<(string Phase, StepKind? Step)> Needed(Requirement requirement) => requirement switch
    {
        ContactTime r => [(r.From.Phase, r.From.Step), (r.To.Phase, r.To.Step)],
        StepTime r => [(r.Phase, r.Step)],
        PassCount r => [(r.Phase, null)],
        SwingCount r => [(r.Phase, StepKind.Pressurise), (r.Phase, StepKind.Vent)],
        ResidualOxygen r => [(r.Phase, StepKind.Pressurise)],
        PhaseOrder r => r.Phases.Select(p => (p, (StepKind?)null)),
        DrainLimit r => r.Phases.Select(p => (p, (StepKind?)StepKind.Drain)),
        TimeBeyond r => r.Phases.Select(p => (p, (StepKind?)null)),
        ThermalDose r => r.Phases.Select(p => (p, (StepKind?)null)),
        _ => [],
    };

    private static IEnumerable<string> Signals(Requirement requirement, WasherModel washer) => requirement switch
    {
        DrainLimit => Signal("drain.dry", washer),
        TimeBeyond r => Signal(r.Signal, washer),
        ThermalDose r => Signal(r.Signal, washer),
        ResidualOxygen => Signal(OxygenRequirement.Signal, washer),
        _ => [],
    };

    /// <summary>The washer's signal serves every station; without it each station needs its own.</summary>
    private static IEnumerable<string> Signal(string name, WasherModel washer)
    {
        var stations = washer.Signals.Where(s => s.Name == name).Select(s => s.Station).ToHashSet();
        if (stations.Count == 0)
        {
            return [name];
        }

        return stations.Contains(0) ? [] : Enumerable.Range(1, washer.Stations).Where(s => !stations.Contains(s)).Select(s => $"{name} of station {s}");
    }
}
