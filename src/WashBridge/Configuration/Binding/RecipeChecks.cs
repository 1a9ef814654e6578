using WashBridge.Configuration.Yaml;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;

namespace WashBridge.Configuration.Binding;

/// <summary>Whether a recipe fits a washer's programme and tag map, said at the line of the recipe.</summary>
internal static class RecipeChecks
{
    /// <param name="hasAllTags">False where some tags of the washer could not be understood.</param>
    /// <param name="hasProgramme">False where some of its programme could not be understood.</param>
    public static void Check(BoundRecipe recipe, WasherConfiguration washer, bool hasAllTags, bool hasProgramme, ProblemList problems, ProblemList warnings)
    {
        if (hasAllTags)
        {
            SetpointBinder.Check(recipe.Map, washer, problems, warnings);
        }

        if (hasProgramme)
        {
            foreach (var problem in RecipeCheck.Problems(recipe.Recipe, washer.Model.Programme))
            {
                var place = FieldPath.Find(recipe.Map.Node, problem.Path);
                problems.Add(place, Message(problem.Kind, washer.Model.Washer), AsWritten(problem.Found), AsWritten(problem.Allowed));
            }
        }

        var units = washer.Tags.Select(t => t.Signal).Where(s => SignalCatalogue.Find(s.Name) is { Unit: "" }).DistinctBy(s => s.Name).ToDictionary(s => s.Name, s => s.Unit);
        foreach (var requirement in (recipe.Map.Node.Find("requirements")?.Value as YamlList)?.Items.OfType<YamlMapping>() ?? [])
        {
            if (requirement.Find("signal")?.Value is YamlScalar signal && units.TryGetValue(signal.Text, out var unit))
            {
                CheckUnits(requirement, unit, problems);
            }
        }
    }

    private static string Message(RecipeProblemKind kind, string washer) => kind switch
    {
        RecipeProblemKind.Unknown => $"washer {washer} has nothing of this name",
        RecipeProblemKind.Missing => "something is missing here",
        RecipeProblemKind.OutOfRange => "this is out of range",
        RecipeProblemKind.Duplicate => "this name is taken",
        _ => $"this could never be met on washer {washer}",
    };

    /// <summary>Steps by the names they have in the file.</summary>
    private static string AsWritten(string text) => Names.Of<StepKind>().Aggregate(text, (t, name) => t.Replace(name.Replace('-', ' '), name, StringComparison.Ordinal));

    /// <summary>The unit of a signal of the site's own is known only with the tag map.</summary>
    private static void CheckUnits(YamlMapping requirement, string unit, ProblemList problems)
    {
        var difference = unit == "Cel" ? "K" : unit == "bar(a)" ? "bar" : unit;
        foreach (var (key, allowed) in new[] { ("above", unit), ("below", unit), ("sensor-uncertainty", difference) })
        {
            if (requirement.Find(key)?.Value is YamlScalar amount && Amounts.Parse(amount.Text)?.Unit != allowed)
            {
                problems.Add(amount, "the tag map gives the signal another unit", $"a number and {allowed}");
            }
        }

        if (requirement.Find("type")?.Value is YamlScalar { Text: "thermal-dose" } && unit != "Cel")
        {
            problems.Add(requirement.Find("signal")!.Value, $"a thermal dose needs a temperature, and the tag map gives this signal the unit {unit}", "a signal in Cel");
        }
    }
}
