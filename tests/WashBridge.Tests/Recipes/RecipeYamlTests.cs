using CsCheck;
using WashBridge.Configuration;
using WashBridge.Core;
using WashBridge.Core.Recipes.Book;
using WashBridge.Recipes;

namespace WashBridge.Tests.Recipes;

public sealed class RecipeYamlTests
{
    private static readonly Site Site = ConfigurationLoader.Load(Path.Combine(Repository.Root, "config/demo/site.yaml")).Site!;
    private static readonly Site Nobody = Site with { Washers = [] };

    [Fact]
    public void What_is_written_reads_back_as_an_equal_recipe() => AnyRecipe.Any.Sample(recipe =>
    {
        var text = RecipeYaml.Write(recipe);
        var read = RecipeText.Read(text, "recipe.yaml", Nobody);
        Assert.True(read.Problems.Count == 0, string.Join('\n', read.Problems) + "\n" + text);
        Assert.True(RecipeContent.Same(recipe, read.Recipe!), $"{WashJson.Write(recipe)}\n{WashJson.Write(read.Recipe!)}\n{text}");
    }, iter: 2000);

    [Fact]
    public void The_demonstrations_recipes_read_back_without_a_problem_at_any_washer()
    {
        foreach (var recipe in Site.Recipes)
        {
            var read = RecipeText.Read(RecipeYaml.Write(recipe), "recipe.yaml", Site);
            Assert.Empty(read.Problems);
            Assert.NotEmpty(read.Washers);
            Assert.True(RecipeContent.Same(recipe, read.Recipe!));
        }
    }

    [Fact]
    public void A_recipe_reads_as_people_write_it()
    {
        var text = RecipeYaml.Write(Site.Recipes.First(r => r.Id == "full-wash"));
        Assert.Contains("  - {setpoint: sanitise.hold, value: 35, unit: s}\n", text, StringComparison.Ordinal);
        Assert.Contains("    from: {phase: sanitise, step: wall-spray, edge: start}\n", text, StringComparison.Ordinal);
        Assert.Contains("    at-least: 34 s\n", text, StringComparison.Ordinal);
        Assert.Contains("    in-purge-gas: 100 ppm\n", text, StringComparison.Ordinal);
    }

    /// <summary>What somebody types is refused with its line and field, as in a file.</summary>
    [Theory]
    [InlineData("at-least: 34 s", "at-least: 34", "requirements[1].at-least", "34")]
    [InlineData("phase: sanitise\n    step: hold", "phase: sanitize\n    step: hold", "requirements[1].phase", "sanitize")]
    [InlineData("unit: s}\n  - {setpoint: rinse.spear", "unit: min}\n  - {setpoint: rinse.spear", "setpoints[0].unit", "\"min\"")]
    [InlineData("version: 1", "version: one", "version", "\"one\"")]
    public void What_is_wrong_is_told_with_line_and_field(string right, string wrong, string field, string found)
    {
        var text = RecipeYaml.Write(Site.Recipes.First(r => r.Id == "full-wash"));
        Assert.Contains(right, text, StringComparison.Ordinal);
        var read = RecipeText.Read(text.Replace(right, wrong, StringComparison.Ordinal), "draft", Site);
        Assert.Null(read.Recipe);
        var problem = read.Problems.First(p => p.Place.Field == field);
        Assert.True(problem.Place.Line > 0);
        Assert.Contains(found, problem.Found, StringComparison.Ordinal);
        Assert.NotEmpty(problem.Allowed);
    }

    [Fact]
    public void No_text_at_all_makes_more_than_problems() => Gen.OneOf(Gen.String[0, 200], AnyRecipe.One("", "---", "[", "recipe: {", "a: *b", new string('x', RecipeText.LongestText + 1))).Sample(text =>
    {
        var read = RecipeText.Read(text, "draft", Site);
        Assert.True(read.Recipe is null && read.Problems.Count > 0);
    }, iter: 1000);
}
