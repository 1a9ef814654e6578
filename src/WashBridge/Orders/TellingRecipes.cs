using System.Collections.Immutable;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Recipes.Book;
using WashBridge.Historian;
using WashBridge.Recipes;

namespace WashBridge.Orders;

/// <summary>What people do to recipes.</summary>
internal static partial class Telling
{
    public static readonly ImmutableArray<string> RecipeSteps = ["draft", "submit", "approve", "refuse", "withdraw", "retire"];

    /// <exception cref="TellingException">It cannot be taken.</exception>
    public static RecipeActed Recipe(ToldRecipe told, Site site, IHistorianReader historian, DateTimeOffset now, Teller? teller = null)
    {
        var step = (RecipeStep)TellingChecks.OneOf("step", told.Step, RecipeSteps);
        teller?.Require(RecipeRules.RoleFor(step), $"to {told.Step} a recipe");
        var book = RecipeLog.Now(historian, site.Recipes);
        var id = told.Recipe?.Trim() ?? "";
        var version = told.Version ?? (step == RecipeStep.Drafted ? book.NextVersion(id) : throw new TellingException($"version: found nothing; to {told.Step} a recipe needs its version"));
        var at = TellingChecks.Now(now);
        var acted = new RecipeActed
        {
            Id = $"recipe/{id}/{version}/{told.Step}/{at.Latest}",
            Washer = WashEvent.WholeSite,
            At = at,
            Act = TellingChecks.Act(told.By, told.Reason, now, teller, "everything that is done to a recipe needs a reason"),
            RecipeId = id,
            Version = version,
            Step = step,
            Recipe = step == RecipeStep.Drafted ? Content(told, id, version, site) : null,
            Was = step == RecipeStep.Drafted ? told.Was ?? book.Find(id, version)?.Drafts.LastOrDefault()?.Id : null,
            From = step == RecipeStep.Approved && !string.IsNullOrWhiteSpace(told.From) ? TellingChecks.Time("from", told.From) : null,
            Approvals = step == RecipeStep.Approved ? RecipeApprovals.Needed(site) : null,
        };
        return RecipeRules.Problem(book, acted) is { } problem ? throw new TellingException(problem, isConflict: true) : acted;
    }

    /// <summary>The content under the number that the draft has: whatever number the text has, it is not the writer's to choose.</summary>
    private static Recipe Content(ToldRecipe told, string id, int version, Site site)
    {
        if (string.IsNullOrWhiteSpace(told.Text))
        {
            throw new TellingException("text: found nothing; a draft needs the whole recipe, as YAML like the files of the configuration");
        }

        var read = RecipeText.Read(told.Text, "recipe", site);
        return read.Recipe switch
        {
            null => throw new TellingException(string.Join('\n', read.Problems)),
            { } recipe when recipe.Id != id => throw new TellingException($"recipe: found '{recipe.Id}' in the text; the draft is of {id}"),
            { } recipe => recipe with { Version = version },
        };
    }
}
