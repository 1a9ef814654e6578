using System.Text.RegularExpressions;
using WashBridge.Configuration.Yaml;
using WashBridge.Core.Recipes;

namespace WashBridge.Configuration.Binding;

/// <summary>The approved setpoints of a recipe, and whether a washer's tag map has them.</summary>
internal static partial class SetpointBinder
{
    public const int MaxSetpoints = 200;
    public const string Prefix = "setpoint.";

    private static readonly TextForm NameForm = new(NamePattern(), "a setpoint's name without its prefix, such as sanitise.hold");

    public static Dictionary<string, ApprovedSetpoint> Bind(MapBinder recipe)
    {
        var setpoints = new Dictionary<string, ApprovedSetpoint>(StringComparer.Ordinal);
        foreach (var entry in recipe.OptionalList("setpoints", 0, MaxSetpoints).Select(n => MapBinder.Of(n, recipe.Problems)).OfType<MapBinder>())
        {
            var name = entry.Text("setpoint", NameForm);
            var value = entry.Number("value", double.MinValue, double.MaxValue);
            var unit = entry.Text("unit", TextForms.Unit);
            var tolerance = entry.OptionalNumber("tolerance", 0) ?? 0;
            entry.Finish();
            setpoints.TryAdd(name, new ApprovedSetpoint(value, unit, tolerance));
        }

        return setpoints;
    }

    /// <summary>A setpoint that the washer has not is not watched, which should be known; one in another unit would be compared with something else.</summary>
    public static void Check(MapBinder recipe, WasherConfiguration washer, ProblemList problems, ProblemList warnings)
    {
        var units = washer.Tags.Select(t => t.Signal).Where(s => s.Name.StartsWith(Prefix, StringComparison.Ordinal)).DistinctBy(s => s.Name).ToDictionary(s => s.Name[Prefix.Length..], s => s.Unit);
        foreach (var entry in (recipe.Node.Find("setpoints")?.Value as YamlList)?.Items.OfType<YamlMapping>() ?? [])
        {
            if (entry.Find("setpoint")?.Value is not YamlScalar name || entry.Find("unit")?.Value is not YamlScalar unit)
            {
                continue;
            }

            if (!units.TryGetValue(name.Text, out var mapped))
            {
                warnings.Add(name.Place, $"the tag map of washer {washer.Model.Washer} has no {Prefix}{name.Text}: nobody watches it there", $"\"{name.Text}\"", "");
            }
            else if (mapped != unit.Text)
            {
                problems.Add(unit, $"the tag map of washer {washer.Model.Washer} gives this setpoint another unit", mapped);
            }
        }
    }

    [GeneratedRegex(@"^(?!setpoint\.)[a-z0-9]+([.-][a-z0-9]+){0,9}\z")]
    private static partial Regex NamePattern();
}
