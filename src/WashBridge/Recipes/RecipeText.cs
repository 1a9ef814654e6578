using WashBridge.Configuration;
using WashBridge.Configuration.Binding;
using WashBridge.Configuration.Yaml;
using WashBridge.Core.Recipes;
using WashBridge.Core.Verdicts;

namespace WashBridge.Recipes;

/// <summary>A requirement that a washer's tag map leaves unjudgeable.</summary>
internal sealed record Unjudgeable(string Washer, Coverage Coverage);

/// <summary>A recipe as somebody wrote it, checked as a file of the configuration is, against every washer that is configured with its id.</summary>
/// <param name="Recipe">Null where there are problems.</param>
/// <param name="Problems">Each with line, field, what was found and what is allowed.</param>
/// <param name="Warnings">What is allowed but should be known.</param>
/// <param name="Unjudgeable">What could never be judged; its verdict would always be not proven.</param>
/// <param name="Washers">Who would be judged by it.</param>
internal sealed record RecipeText(Recipe? Recipe, IReadOnlyList<Problem> Problems, IReadOnlyList<Problem> Warnings, IReadOnlyList<Unjudgeable> Unjudgeable, IReadOnlyList<string> Washers)
{
    /// <summary>A recipe is written by people: anything longer is a mistake.</summary>
    public const int LongestText = 200_000;

    /// <param name="name">What problems call it, such as a file's name.</param>
    /// <param name="site">With the washers that it is checked against.</param>
    public static RecipeText Read(string text, string name, Site site)
    {
        var (problems, warnings) = (new ProblemList(), new ProblemList());
        if (text.Length > LongestText)
        {
            problems.Add(new Place(name, 1, 1, ""), "the recipe is too long", $"{text.Length} characters", $"at most {LongestText}");
            return new RecipeText(null, problems.Sorted([name]), [], [], []);
        }

        var recipe = MapBinder.Of(YamlReader.Read(name, text, problems), problems) is { } map ? Bind(map, site, problems, warnings) : null;
        var washers = recipe is null ? [] : Of(site, recipe.Id).ToList();
        return new RecipeText(
            problems.Count == 0 ? recipe : null,
            problems.Sorted([name]),
            warnings.Sorted([name]),
            [.. washers.SelectMany(w => Judgeability.Explain(recipe!, w.Model).Where(c => !c.CanJudge).Select(c => new Unjudgeable(w.Model.Washer, c)))],
            [.. washers.Select(w => w.Model.Washer)]);
    }

    /// <summary>The washers of whose configuration a recipe of this id is part.</summary>
    public static IEnumerable<WasherConfiguration> Of(Site site, string id) => site.Washers.Where(w => w.Recipes.Any(r => r.Id == id));

    /// <summary>The unit that the washers' tag maps give a signal; empty where none has it.</summary>
    public static string UnitOf(Site site, string id, string signal) => Of(site, id).SelectMany(w => w.Tags).FirstOrDefault(t => t.Signal.Name == signal)?.Signal.Unit ?? "";

    private static Recipe? Bind(MapBinder map, Site site, ProblemList problems, ProblemList warnings)
    {
        var recipe = RecipeBinder.Bind(map);
        if (problems.Count > 0)
        {
            return null;
        }

        var bound = new BoundRecipe(recipe, map, IsComplete: true);
        foreach (var washer in Of(site, recipe.Id))
        {
            RecipeChecks.Check(bound, washer, hasAllTags: true, hasProgramme: true, problems, warnings);
        }

        return recipe;
    }
}
