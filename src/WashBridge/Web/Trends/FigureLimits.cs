using WashBridge.Core.Features;
using WashBridge.Core.Recipes;
using WashBridge.Core.Upkeep;
using WashBridge.Reporting;

namespace WashBridge.Web.Trends;

/// <summary>Where a limit of a figure comes from.</summary>
internal enum LimitOrigin
{
    /// <summary>The recipe: at least so much.</summary>
    RecipeAtLeast = 0,

    /// <summary>The recipe: at most so much.</summary>
    RecipeAtMost = 1,

    /// <summary>The forecast of a part: at this value it counts as failed.</summary>
    Part = 2,
}

/// <param name="Value">In the figure's unit.</param>
/// <param name="Origin">Whose it is.</param>
/// <param name="Source">The requirement's or the limit's own words.</param>
internal sealed record FigureLimit(double Value, LimitOrigin Origin, string Source);

/// <summary>Limits that are in the same unit as a figure, and mean the same quantity. Others would not belong into its picture.</summary>
internal static class FigureLimits
{
    public static IReadOnlyList<FigureLimit> Of(string figure, Recipe? recipe, IEnumerable<ForecastLine> parts)
    {
        if (figure.StartsWith(Feature.PeersPrefix, StringComparison.Ordinal))
        {
            return [];
        }

        var name = figure.Split('@')[0];
        var (family, of) = (Feature.FamilyOf(name), name.IndexOf('/', StringComparison.Ordinal) is > 0 and var slash ? name[(slash + 1)..] : "");
        var limits = (recipe?.Requirements ?? []).Select(r => Of(r, family, of)).OfType<FigureLimit>().ToList();
        limits.AddRange(parts.Select(p => p.Forecast).Where(f => f.Index == figure && f.Limit is not null && f.State != ForecastState.NotEnoughEvidence).Select(f => new FigureLimit(f.Limit!.Value, LimitOrigin.Part, f.LimitSource)));
        return [.. limits.Distinct()];
    }

    private static FigureLimit? Of(Requirement requirement, string family, string of) => (requirement, family) switch
    {
        (DrainLimit drain, "drain-time") when drain.Phases.Count == 0 || drain.Phases.Contains(of.Split('/')[0]) => new(drain.AtMost.TotalSeconds, LimitOrigin.RecipeAtMost, Title(requirement)),
        (TimeBeyond beyond, "temperature-mean" or "temperature-minimum") when beyond.Signal == "temperature." + of => Beyond(beyond),
        (TimeBeyond beyond, "strength") when beyond.Signal == "conductivity." + of => Beyond(beyond),
        (TimeBeyond beyond, "level") when beyond.Signal == "level." + of => Beyond(beyond),
        (TimeBeyond { Below: false } beyond, "temperature-above") when beyond.Signal == "temperature." + of.Split('/')[0] => new(beyond.AtLeast.TotalSeconds, LimitOrigin.RecipeAtLeast, Title(requirement)),
        _ => null,
    };

    private static FigureLimit Beyond(TimeBeyond beyond) => new(beyond.Value, beyond.Below ? LimitOrigin.RecipeAtMost : LimitOrigin.RecipeAtLeast, Title(beyond));

    private static string Title(Requirement requirement) => requirement.Title.Length > 0 ? requirement.Title : requirement.Id;
}
