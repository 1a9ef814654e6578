using CsCheck;
using WashBridge.Core.Recipes;
using WashBridge.Core.Recipes.Book;
using WashBridge.Recipes;

namespace WashBridge.Tests.Recipes;

public sealed class RecipeFormTests
{
    private static readonly Func<string, string> Unit = RecipeWords.UnitOf;

    [Fact]
    public void What_is_sent_back_untouched_changes_nothing() => AnyRecipe.Any.Sample(recipe =>
    {
        var filled = RecipeForm.Fill(recipe, Fields(recipe).ToDictionary(f => f.Key, f => f.Value, StringComparer.Ordinal), Unit);
        Assert.Empty(filled.Problems);
        Assert.True(RecipeContent.Same(recipe, filled.Recipe));
    }, iter: 300);

    [Fact]
    public void Every_number_of_the_demonstrations_recipes_can_be_typed_and_is_found_again()
    {
        foreach (var recipe in RecipeNight.Site.Recipes)
        {
            foreach (var field in Fields(recipe))
            {
                var typed = field.Name.StartsWith("at-least-", StringComparison.Ordinal) ? "7" : "7.25";
                var filled = RecipeForm.Fill(recipe, new Dictionary<string, string> { [field.Key] = typed }, Unit);
                Assert.Empty(filled.Problems);
                Assert.Equal(typed, Fields(filled.Recipe).Single(f => f.Key == field.Key).Value);
                Assert.Equal(Fields(recipe).Where(f => f.Key != field.Key), Fields(filled.Recipe).Where(f => f.Key != field.Key));
            }
        }
    }

    [Fact]
    public void The_binder_finds_a_wrong_number_at_the_field_where_it_was_typed()
    {
        foreach (var field in Fields(RecipeNight.Configured).Where(f => f.Key.StartsWith("r:", StringComparison.Ordinal) && f.Name is not ("above" or "below")))
        {
            var filled = RecipeForm.Fill(RecipeNight.Configured, new Dictionary<string, string> { [field.Key] = "-200000" }, Unit);
            var read = RecipeText.Read(RecipeYaml.Write(filled.Recipe), "draft", RecipeNight.Site);
            var (byField, others) = RecipeForm.Place(read.Problems, Fields(filled.Recipe));
            Assert.Equal([field.Key], byField.Keys);
            Assert.Empty(others);
        }
    }

    [Fact]
    public void A_limit_that_may_be_left_out_is_left_out_and_one_that_may_not_is_asked_for()
    {
        var filled = RecipeForm.Fill(RecipeNight.Configured, new Dictionary<string, string> { ["r:sanitiser-hold:at-most"] = "90", ["r:sanitiser-hold:at-least"] = "" }, Unit);
        var hold = filled.Recipe.Requirements.OfType<StepTime>().Single(r => r.Id == "sanitiser-hold");
        Assert.Equal((null, TimeSpan.FromSeconds(90)), (hold.AtLeast, hold.AtMost!.Value));
        Assert.Contains("found nothing", RecipeForm.Fill(RecipeNight.Configured, new Dictionary<string, string> { ["r:drains:at-most"] = " " }, Unit).Problems["r:drains:at-most"], StringComparison.Ordinal);
    }

    private static List<RecipeField> Fields(Recipe recipe) => [.. RecipeForm.Requirements(recipe, Unit).Concat(RecipeForm.Setpoints(recipe)).SelectMany(g => g.Fields)];
}
