using WashBridge.Core.Features;
using WashBridge.Core.Recipes;
using WashBridge.Core.Verdicts;

namespace WashBridge.Web.Trends;

/// <summary>How many kegs met a requirement.</summary>
internal sealed record RequirementTally(string Requirement, string Title, int Met, int NotMet, int NotProven)
{
    public int Kegs => Met + NotMet + NotProven;
}

/// <summary>Which requirements of a recipe a figure tells of: whether a drift has left the recipe, the kegs' own verdicts say, not the drift.</summary>
internal static class RecipeBearing
{
    public static IReadOnlyList<Requirement> Of(Recipe recipe, string figure)
    {
        var name = figure.StartsWith(Feature.PeersPrefix, StringComparison.Ordinal) ? figure[Feature.PeersPrefix.Length..] : figure;
        name = name.Split('@')[0];
        var (family, of) = (Feature.FamilyOf(name), name.IndexOf('/', StringComparison.Ordinal) is > 0 and var slash ? name[(slash + 1)..].Split('/')[0] : "");
        return [.. recipe.Requirements.Where(r => Bears(r, family, of))];
    }

    /// <summary>Of the requirements, how the kegs' verdicts came out, in the order of the recipe.</summary>
    public static IReadOnlyList<RequirementTally> Tally(IReadOnlyList<Requirement> requirements, IEnumerable<KegVerdict> verdicts)
    {
        var results = verdicts.SelectMany(v => v.Results).ToLookup(r => r.Requirement, StringComparer.Ordinal);
        return
        [
            .. requirements.Select(r => new RequirementTally(
                r.Id,
                r.Title.Length > 0 ? r.Title : r.Id,
                results[r.Id].Count(x => x.Verdict == Verdict.Met),
                results[r.Id].Count(x => x.Verdict == Verdict.NotMet),
                results[r.Id].Count(x => x.Verdict == Verdict.NotProven))),
        ];
    }

    private static bool Bears(Requirement requirement, string family, string of) => family switch
    {
        "drain-time" or "drain-index" or "drain-bounce" or "drain-wet-before" or "drain-unfinished" => requirement is DrainLimit,
        "temperature-mean" or "temperature-minimum" or "temperature-above" or "heat-up-rate" or "heater-time" => IsOfSignal(requirement, "temperature." + of),
        "temperature-return" => IsOfSignal(requirement, "temperature.return"),
        "strength" or "dosing-time" or "dosing-response" => IsOfSignal(requirement, "conductivity." + of),
        "purge-high" or "purge-low" or "purge-rise" or "co2-rest" or "co2-flow" => requirement is ResidualOxygen or SwingCount,
        "timing" or "step-time" or "step-excess" or "phase-time" => requirement is StepTime or ContactTime && IsOfPhase(requirement, of),
        "spray-pressure" => IsOfSignal(requirement, "pressure.spray"),
        "spray-flow" => IsOfSignal(requirement, "flow.supply"),
        "spray-current" => IsOfSignal(requirement, "current.spray-pump"),
        "water-pressure" => IsOfSignal(requirement, "pressure.water"),
        "air-pressure" => IsOfSignal(requirement, "pressure.air"),
        "level" => IsOfSignal(requirement, "level." + of),
        _ => false,
    };

    private static bool IsOfSignal(Requirement requirement, string signal) => requirement switch
    {
        TimeBeyond beyond => beyond.Signal == signal,
        ThermalDose dose => dose.Signal == signal,
        _ => false,
    };

    /// <summary>The mean over all timed steps (no phase) bears on each.</summary>
    private static bool IsOfPhase(Requirement requirement, string phase) => phase.Length == 0 || requirement switch
    {
        StepTime step => step.Phase == phase,
        ContactTime contact => contact.From.Phase == phase || contact.To.Phase == phase,
        _ => false,
    };
}
