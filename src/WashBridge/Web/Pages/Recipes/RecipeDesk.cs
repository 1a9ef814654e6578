using WashBridge.Configuration;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Orders;
using WashBridge.Recipes;
using WashBridge.Web.Accounts;

namespace WashBridge.Web.Pages.Recipes;

/// <summary>The book of recipes for the pages, and what their forms do to it: by the same checks as commands and requests.</summary>
internal sealed class RecipeDesk(Site site, IHistorian historian, RecordDesk desk, Acting acting, TimeProvider time)
{
    public Instant Now => Instant.Floor(time.GetUtcNow());

    public RecipeBook Book() => RecipeLog.Now(historian, site.Recipes);

    /// <summary>Checked against all washers that use it.</summary>
    public RecipeText Check(string text) => RecipeText.Read(text, "recipe", site);

    public string Yaml(Core.Recipes.Recipe recipe) => RecipeYaml.Write(recipe, signal => RecipeText.UnitOf(site, recipe.Id, signal));

    /// <exception cref="TellingException">It cannot be taken; nothing is stored.</exception>
    public RecipeActed Take(ToldRecipe told)
    {
        var teller = acting.Teller(told.By);
        return (RecipeActed)desk.Take((_, now) => Telling.Recipe(told, site, historian, now, teller));
    }

    /// <summary>Who does something that is no act on a version.</summary>
    /// <exception cref="TellingException">Nobody is named, or there is no reason.</exception>
    public Core.Records.Act Act(string? by, string? reason, string neededReason) =>
        TellingChecks.Act(by, reason, time.GetUtcNow(), acting.Teller(by), neededReason);
}
