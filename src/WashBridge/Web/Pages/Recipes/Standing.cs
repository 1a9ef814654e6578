using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Time;

namespace WashBridge.Web.Pages.Recipes;

/// <summary>How a version stands now.</summary>
public enum Standing
{
    Draft,
    Submitted,

    /// <summary>Approved; its date has not come yet.</summary>
    Coming,
    InForce,

    /// <summary>Was in force until another was.</summary>
    Past,
    Refused,
    Withdrawn,
    Retired,
}

internal static class Standings
{
    public static Standing Of(RecipeVersion version, Instant now) => version.State switch
    {
        RecipeState.Draft => Standing.Draft,
        RecipeState.Submitted => Standing.Submitted,
        RecipeState.Refused => Standing.Refused,
        RecipeState.Withdrawn => Standing.Withdrawn,
        RecipeState.Retired => Standing.Retired,
        _ when version.From > now => Standing.Coming,
        _ => version.Until <= now ? Standing.Past : Standing.InForce,
    };

    /// <summary>What cycles that begin now are judged with; where the files name several, the highest.</summary>
    public static RecipeVersion? InForce(IReadOnlyList<RecipeVersion> versions, Instant now) => versions.LastOrDefault(v => Of(v, now) == Standing.InForce);
}
