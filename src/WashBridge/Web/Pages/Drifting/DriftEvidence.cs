using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Web.Trends;

namespace WashBridge.Web.Pages.Drifting;

/// <summary>Whether what drifts is still within the recipe: by the verdicts of the kegs since it began, because a drift itself judges no keg.</summary>
/// <param name="Requirements">Those that the figure bears on, by the recipe in force; none: the recipe asks for nothing of the kind.</param>
/// <param name="Judged">Verdicts looked at, the latest.</param>
/// <param name="Verdicts">How they came out as a whole.</param>
internal sealed record DriftEvidence(IReadOnlyList<RequirementTally> Requirements, int Judged, IReadOnlyDictionary<Verdict, int> Verdicts)
{
    /// <summary>More verdicts tell hardly more, and are slow to read.</summary>
    public const int MostVerdicts = 400;

    public static DriftEvidence Read(IHistorianReader historian, WasherConfiguration washer, string figure, Instant since, Instant until)
    {
        var station = FigureSide.Station(figure);
        var verdicts = LatestEvents.Read<KegJudged>(historian, washer.Model.Washer, "keg-judged", since, until, MostVerdicts)
            .Select(j => j.Verdict).Where(v => station == 0 || v.Station == station).ToList();
        return Of(RecipeBearing.Of(RecipeOf(washer, verdicts), figure), verdicts);
    }

    public static DriftEvidence Of(IReadOnlyList<Requirement> requirements, IReadOnlyList<KegVerdict> verdicts) =>
        new(RecipeBearing.Tally(requirements, verdicts), verdicts.Count, verdicts.GroupBy(v => v.Verdict).ToDictionary(g => g.Key, g => g.Count()));

    /// <summary>The recipe that judged last.</summary>
    private static Recipe RecipeOf(WasherConfiguration washer, List<KegVerdict> verdicts) =>
        washer.RecipesByProgramme.Values.Prepend(washer.Recipe).FirstOrDefault(r => verdicts.Count > 0 && r.Id == verdicts[^1].Recipe) ?? washer.Recipe;
}
