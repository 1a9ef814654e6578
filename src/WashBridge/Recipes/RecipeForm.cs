using System.Globalization;
using WashBridge.Configuration;
using WashBridge.Core.Recipes;
using WashBridge.Core.Recipes.Book;

namespace WashBridge.Recipes;

/// <summary>A number of a recipe that can be typed.</summary>
/// <param name="Key">Unique in the recipe; the form's field.</param>
/// <param name="Place">Where it stands in the file, as problems name it, such as <c>requirements[2].at-least</c>.</param>
/// <param name="Name">Which number it is, such as <c>at-least</c>.</param>
/// <param name="Unit">For the reader; empty for counts.</param>
/// <param name="Value">As it stands; empty: not set.</param>
/// <param name="IsOptional">May be left empty.</param>
public sealed record RecipeField(string Key, string Place, string Name, string Unit, string Value, bool IsOptional);

/// <summary>The numbers of a requirement or setpoint.</summary>
/// <param name="Name">For people.</param>
/// <param name="Sentence">What it says as it stands.</param>
public sealed record RecipeFieldGroup(string Id, string Name, string Sentence, IReadOnlyList<RecipeField> Fields);

/// <summary>What typing came to.</summary>
/// <param name="Recipe">With the numbers that could be read.</param>
/// <param name="Problems">By the field's key: what was found and what is allowed.</param>
internal sealed record FilledForm(Recipe Recipe, IReadOnlyDictionary<string, string> Problems);

/// <summary>The numbers of a recipe as a form, and back. What changes more than numbers is written as text.</summary>
internal static class RecipeForm
{
    private const double LongestSeconds = 1e9;

    private delegate Requirement Set(Requirement requirement, double? value);

    /// <param name="unitOf">The unit of a signal of the site's own.</param>
    public static IReadOnlyList<RecipeFieldGroup> Requirements(Recipe recipe, Func<string, string> unitOf) =>
        [.. recipe.Requirements.Select((r, i) => new RecipeFieldGroup(r.Id, RecipeWords.Name(r), RecipeWords.Of(r), [.. Numbers(r, unitOf).Select(n => n.Field(r, i))])).Where(g => g.Fields.Count > 0)];

    public static IReadOnlyList<RecipeFieldGroup> Setpoints(Recipe recipe) => [.. recipe.Setpoints.Select((s, i) => new RecipeFieldGroup(s.Key, s.Key, RecipeWords.Of(s.Value),
    [
        new($"s:{s.Key}:value", $"setpoints[{i}].value", "value", s.Value.Unit, RecipeYaml.Number(s.Value.Value), false),
        new($"s:{s.Key}:tolerance", $"setpoints[{i}].tolerance", "tolerance", s.Value.Unit, RecipeYaml.Number(s.Value.Tolerance), false),
    ]))];

    /// <param name="typed">By the field's key; what is not there stays as it is.</param>
    public static FilledForm Fill(Recipe recipe, IReadOnlyDictionary<string, string> typed, Func<string, string> unitOf)
    {
        var problems = new Dictionary<string, string>(StringComparer.Ordinal);
        var requirements = recipe.Requirements.Select((r, i) => Numbers(r, unitOf).Aggregate(r, (requirement, number) =>
            Read(number.Field(r, i), number.IsCount, typed, problems) is { Given: true, Value: var value } ? number.Set(requirement, value) : requirement)).ToList();
        var setpoints = recipe.Setpoints.Select((s, i) =>
        {
            var fields = Setpoints(recipe)[i].Fields;
            var (value, tolerance) = (Read(fields[0], false, typed, problems), Read(fields[1], false, typed, problems));
            return KeyValuePair.Create(s.Key, s.Value with { Value = value.Given ? value.Value!.Value : s.Value.Value, Tolerance = tolerance.Given ? tolerance.Value!.Value : s.Value.Tolerance });
        });
        return new FilledForm(recipe with { Requirements = requirements, Setpoints = new Dictionary<string, ApprovedSetpoint>(setpoints) }, problems);
    }

    /// <summary>Puts what the binder found to the fields where it was typed; what belongs to none is left.</summary>
    public static (IReadOnlyDictionary<string, string> ByField, IReadOnlyList<Problem> Others) Place(IReadOnlyList<Problem> problems, IEnumerable<RecipeField> fields)
    {
        var (byField, others, places) = (new Dictionary<string, string>(StringComparer.Ordinal), new List<Problem>(), fields.ToLookup(f => f.Place));
        foreach (var problem in problems)
        {
            if (places[problem.Place.Field].FirstOrDefault() is { } field)
            {
                byField.TryAdd(field.Key, $"{problem.Message}; found {problem.Found}; allowed: {problem.Allowed}");
            }
            else
            {
                others.Add(problem);
            }
        }

        return (byField, others);
    }

    private static (bool Given, double? Value) Read(RecipeField field, bool isCount, IReadOnlyDictionary<string, string> typed, Dictionary<string, string> problems)
    {
        if (!typed.TryGetValue(field.Key, out var text) || text.Trim() == field.Value)
        {
            return (false, null);
        }

        if (string.IsNullOrWhiteSpace(text) && field.IsOptional)
        {
            return (true, null);
        }

        var isNumber = double.TryParse(text.Trim(), NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out var value) && Math.Abs(value) < LongestSeconds;
        if (isNumber && (!isCount || value == Math.Floor(value)))
        {
            return (true, value);
        }

        var unit = field.Unit.Length > 0 ? $" in {field.Unit}" : "";
        problems[field.Key] = $"found {(string.IsNullOrWhiteSpace(text) ? "nothing" : $"'{(text.Length > 40 ? text[..40] + "..." : text.Trim())}'")}; allowed: {(isCount ? "a whole number" : $"a number{unit} with a point, such as 34.5")}{(field.IsOptional ? ", or nothing" : "")}";
        return (false, null);
    }

    private static IEnumerable<Number> Numbers(Requirement requirement, Func<string, string> unitOf) => requirement switch
    {
        ContactTime r => [AtLeast(r.AtLeast, (q, v) => ((ContactTime)q) with { AtLeast = Time(v) }), AtMost(r.AtMost, (q, v) => ((ContactTime)q) with { AtMost = Time(v) })],
        StepTime r => [AtLeast(r.AtLeast, (q, v) => ((StepTime)q) with { AtLeast = Time(v) }), AtMost(r.AtMost, (q, v) => ((StepTime)q) with { AtMost = Time(v) })],
        TimeBeyond r =>
        [
            new(r.Below ? "below" : "above", unitOf(r.Signal), RecipeYaml.Number(r.Value), (q, v) => ((TimeBeyond)q) with { Value = v!.Value }),
            new("at-least", "s", Seconds(r.AtLeast), (q, v) => ((TimeBeyond)q) with { AtLeast = Time(v)!.Value }),
            new("sensor-uncertainty", RecipeWords.DifferenceUnit(unitOf(r.Signal)), RecipeYaml.Number(r.SensorUncertainty), (q, v) => ((TimeBeyond)q) with { SensorUncertainty = v!.Value }),
        ],
        PassCount r => [new("at-least-passes", "", r.AtLeast.ToString(CultureInfo.InvariantCulture), (q, v) => ((PassCount)q) with { AtLeast = Count(v) }) { IsCount = true, PlaceName = "at-least" }],
        SwingCount r => [new("at-least-swings", "", r.AtLeast.ToString(CultureInfo.InvariantCulture), (q, v) => ((SwingCount)q) with { AtLeast = Count(v) }) { IsCount = true, PlaceName = "at-least" }],
        DrainLimit r => [new("at-most", "s", Seconds(r.AtMost), (q, v) => ((DrainLimit)q) with { AtMost = Time(v)!.Value })],
        ResidualOxygen r =>
        [
            new("at-most", "%", Percent(r.AtMost), (q, v) => ((ResidualOxygen)q) with { AtMost = v!.Value / 100 }),
            new("initial", "%", Percent(r.Initial), (q, v) => ((ResidualOxygen)q) with { Initial = v!.Value / 100 }),
            new("in-purge-gas", "%", Percent(r.InPurgeGas), (q, v) => ((ResidualOxygen)q) with { InPurgeGas = v!.Value / 100 }),
            new("sensor-uncertainty", "bar", RecipeYaml.Number(r.SensorUncertainty), (q, v) => ((ResidualOxygen)q) with { SensorUncertainty = v!.Value }),
        ],
        ThermalDose r =>
        [
            new("at-least", RecipeWords.DoseUnit(r.Method), RecipeYaml.Number(r.AtLeast), (q, v) => ((ThermalDose)q) with { AtLeast = v!.Value }),
            new("sensor-uncertainty", "K", RecipeYaml.Number(r.SensorUncertainty), (q, v) => ((ThermalDose)q) with { SensorUncertainty = v!.Value }),
        ],
        _ => [],
    };

    private static Number AtLeast(TimeSpan? time, Set set) => new("at-least", "s", Seconds(time), set) { IsOptional = true };

    private static Number AtMost(TimeSpan? time, Set set) => new("at-most", "s", Seconds(time), set) { IsOptional = true };

    private static string Seconds(TimeSpan? time) => time is { } t ? RecipeYaml.Number((double)t.Ticks / TimeSpan.TicksPerSecond) : "";

    private static string Percent(double fraction) => RecipeYaml.Number(RecipeYaml.Undivided(fraction, 100));

    private static TimeSpan? Time(double? seconds) => seconds is { } s ? TimeSpan.FromTicks((long)Math.Round(s * TimeSpan.TicksPerSecond)) : null;

    private static int Count(double? value) => (int)Math.Clamp(value!.Value, int.MinValue, int.MaxValue);

    private sealed record Number(string Name, string Unit, string Value, Set Set)
    {
        public bool IsOptional { get; init; }

        public bool IsCount { get; init; }

        /// <summary>As in the file.</summary>
        public string PlaceName { get; init; } = Name;

        public RecipeField Field(Requirement requirement, int index) => new($"r:{requirement.Id}:{Name}", $"requirements[{index}].{PlaceName}", Name, Unit, Value, IsOptional);
    }
}
