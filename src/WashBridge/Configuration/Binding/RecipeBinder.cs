using WashBridge.Core.Recipes;

namespace WashBridge.Configuration.Binding;

/// <summary>A recipe file.</summary>
internal static class RecipeBinder
{
    public const int MaxVersion = 1_000_000;
    public const int MaxRequirements = 100;

    /// <summary>Stands in where a recipe could not be read.</summary>
    public static Recipe Placeholder { get; } = new() { Id = "", Version = 1, Requirements = [] };

    public static Recipe Bind(MapBinder map)
    {
        var recipe = new Recipe
        {
            Id = map.Text("recipe", TextForms.Id),
            Version = map.Integer("version", 1, MaxVersion),
            Title = map.OptionalText("title", TextForms.Line) ?? "",
            Rule = Rule(map.OptionalMap("decision")),
            Setpoints = SetpointBinder.Bind(map),
            Requirements = [.. map.List("requirements", 1, MaxRequirements).Select(n => MapBinder.Of(n, map.Problems)).OfType<MapBinder>().Select(RequirementBinder.Bind).OfType<Requirement>()],
        };
        map.Finish();
        Unique.Check(map.Node.Find("requirements")?.Value, "id", map.Problems);
        Unique.Check(map.Node.Find("setpoints")?.Value, "setpoint", map.Problems);
        return recipe;
    }

    private static DecisionRule Rule(MapBinder? map)
    {
        if (map is null)
        {
            return DecisionRule.Bounds;
        }

        DecisionMethod? method = map.Require("method", Scalars.OneOf(Names.Of<DecisionMethod>())) is { } node ? Scalars.Choice<DecisionMethod>(node, map.Problems) : null;
        var risk = map.OptionalNumber("risk", 0.0001, 0.4999);
        map.Finish();
        if (method == DecisionMethod.GuardBand && map.Node.Find("risk") is null)
        {
            map.Problems.Add(map.PlaceOf("risk"), "the key risk is missing: a guard band is chosen by the accepted risk of a false decision", "", "a number from 0.0001 to 0.4999, such as 0.05");
        }
        else if (method == DecisionMethod.Bounds && map.Node.Find("risk") is { } entry)
        {
            map.Problems.Add(entry.Value, "risk belongs to the method guard-band only", "leave it out");
        }

        return method == DecisionMethod.GuardBand ? new DecisionRule(DecisionMethod.GuardBand, risk ?? 0.05) : DecisionRule.Bounds;
    }
}
