using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;

namespace WashBridge.Core.Verdicts;

/// <summary>For how many of a washer's kegs something can be told.</summary>
public enum CoverageExtent
{
    Whole = 0,

    /// <summary>For some stations, or only while nothing is out of the ordinary: the explanation says which.</summary>
    Partly = 1,
    None = 2,
}

/// <summary>Whether a washer's map lets one requirement be judged.</summary>
/// <param name="Requirement">Its id.</param>
/// <param name="CanJudge">True when nothing is missing at any station.</param>
/// <param name="Missing">What is missing, as <c>drain.dry of station 3</c>.</param>
/// <param name="Explanation">One sentence.</param>
/// <param name="Extent">The same, with what lies in between.</param>
public sealed record Coverage(string Requirement, bool CanJudge, IReadOnlyList<string> Missing, string Explanation, CoverageExtent Extent);

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
        List<string> signals = [.. Signals(requirement, washer)];
        List<string> missing = [.. Sequence(washer), .. Positions(requirement, washer), .. signals];
        if (missing.Count > 0)
        {
            var isOfStations = missing.Count == signals.Count && signals.Count < washer.Stations && !washer.Lacks(signals);
            return new Coverage(requirement.Id, false, missing, $"Cannot be judged: the map lacks {Wording.List(missing)}.", isOfStations ? CoverageExtent.Partly : CoverageExtent.None);
        }

        var isShared = requirement is DrainLimit && washer.Stations > 1 && !washer.Signals.Any(s => s is { Name: "drain.dry", Station: > 0 });
        return isShared
            ? new Coverage(requirement.Id, true, [], "Can be judged, but one drain sensor serves all stations: a slow drain leaves every keg of the cycle not proven.", CoverageExtent.Partly)
            : new Coverage(requirement.Id, true, [], "Can be judged.", CoverageExtent.Whole);
    }

    /// <summary>What is missing of a signal: all of it, or that of some stations. The washer's signal serves every station; without it each station needs its own.</summary>
    internal static IEnumerable<string> MissingOf(string name, WasherModel washer)
    {
        var stations = washer.Signals.Where(s => s.Name == name).Select(s => s.Station).ToHashSet();
        if (stations.Count == 0)
        {
            return [name];
        }

        return stations.Contains(0) ? [] : Enumerable.Range(1, washer.Stations).Where(s => !stations.Contains(s)).Select(s => $"{name} of station {s}");
    }

    /// <summary>Whether one of these is missing at every station.</summary>
    private static bool Lacks(this WasherModel washer, IEnumerable<string> missing) => missing.Any(m => !m.Contains(' ') && !washer.Signals.Any(s => s.Name == m));

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
        DrainLimit => MissingOf("drain.dry", washer),
        TimeBeyond r => MissingOf(r.Signal, washer),
        ThermalDose r => MissingOf(r.Signal, washer),
        ResidualOxygen => MissingOf(OxygenRequirement.Signal, washer),
        _ => [],
    };
}
