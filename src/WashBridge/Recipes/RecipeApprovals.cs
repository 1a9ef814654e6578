using WashBridge.Configuration;

namespace WashBridge.Recipes;

/// <summary>How many different people must approve a recipe at this site.</summary>
internal static class RecipeApprovals
{
    public static int Needed(Site site)
    {
        ArgumentNullException.ThrowIfNull(site);
        return site.Http?.Approvals ?? 1;
    }
}
