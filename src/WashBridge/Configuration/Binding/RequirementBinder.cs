using WashBridge.Configuration.Yaml;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;

namespace WashBridge.Configuration.Binding;

/// <summary>One requirement of a recipe, by its type.</summary>
internal static class RequirementBinder
{
    private static readonly TimeSpan Least = TimeSpan.FromMilliseconds(100);
    private static readonly TimeSpan Most = TimeSpan.FromHours(24);

    private static readonly Dictionary<string, Func<MapBinder, string, string, Requirement>> ByType = new()
    {
        ["contact-time"] = BindContactTime,
        ["step-time"] = BindStepTime,
        ["time-beyond"] = QuantityRequirements.BindTimeBeyond,
        ["pass-count"] = (map, id, title) => new PassCount { Id = id, Title = title, Phase = Phase(map), AtLeast = map.Integer("at-least", 1, 100) },
        ["swing-count"] = (map, id, title) => new SwingCount { Id = id, Title = title, Phase = Phase(map), AtLeast = map.Integer("at-least", 1, 100) },
        ["phase-order"] = (map, id, title) => new PhaseOrder { Id = id, Title = title, Phases = Phases(map, required: true) },
        ["drain-limit"] = (map, id, title) => new DrainLimit { Id = id, Title = title, AtMost = map.Duration("at-most", Least, Most), Phases = Phases(map, required: false) },
        ["residual-oxygen"] = QuantityRequirements.BindResidualOxygen,
        ["thermal-dose"] = QuantityRequirements.BindThermalDose,
    };

    public static IReadOnlyCollection<string> Types => ByType.Keys;

    public static Requirement? Bind(MapBinder map)
    {
        var id = map.Text("id", TextForms.Id);
        var title = map.OptionalText("title", TextForms.Line) ?? "";
        if (map.Require("type", Scalars.OneOf(Types)) is not { } node)
        {
            return null;
        }

        var name = node is YamlScalar { Kind: ScalarKind.Text } scalar ? scalar.Text : "";
        if (!ByType.TryGetValue(name, out var bind))
        {
            map.Problems.Add(node, $"there is no such type of requirement{Suggestion.For(name, Types)}", Scalars.OneOf(Types));
            return null;
        }

        var requirement = bind(map, id, title);
        map.Finish();
        return requirement;
    }

    public static string Phase(MapBinder map) => map.Text("phase", TextForms.Id);

    public static IReadOnlyList<string> Phases(MapBinder map, bool required)
    {
        var nodes = required ? map.List("phases", 1, ProgrammeBinder.MaxPhases) : map.OptionalList("phases", 0, ProgrammeBinder.MaxPhases);
        return [.. nodes.Select(n => Scalars.Text(n, TextForms.Id, map.Problems)).OfType<string>()];
    }

    private static ContactTime BindContactTime(MapBinder map, string id, string title)
    {
        var (atLeast, atMost) = Limits(map);
        return new ContactTime
        {
            Id = id,
            Title = title,
            From = Edge(map.Map("from")),
            To = Edge(map.Map("to")),
            AtLeast = atLeast,
            AtMost = atMost,
            EveryPass = map.Flag("every-pass", false),
        };
    }

    private static StepTime BindStepTime(MapBinder map, string id, string title)
    {
        var (atLeast, atMost) = Limits(map);
        return new StepTime
        {
            Id = id,
            Title = title,
            Phase = Phase(map),
            Step = map.Choice<StepKind>("step"),
            AtLeast = atLeast,
            AtMost = atMost,
            Total = map.Flag("total", false),
        };
    }

    private static (TimeSpan? AtLeast, TimeSpan? AtMost) Limits(MapBinder map)
    {
        var atLeast = map.OptionalDuration("at-least", Least, Most);
        var atMost = map.OptionalDuration("at-most", Least, Most);
        if (map.Node.Find("at-least") is null && map.Node.Find("at-most") is null)
        {
            map.Problems.Add(map.PlaceOf("at-least"), "a time without a limit asks for nothing", "", "at-least, at-most, or both");
        }
        else if (atLeast > atMost)
        {
            map.Problems.Add(map.Node.Find("at-least")!.Value, $"at-least must not be more than at-most, {Amounts.Write(atMost.Value)}", $"up to {Amounts.Write(atMost.Value)}");
        }

        return (atLeast, atMost);
    }

    private static EdgeName Edge(MapBinder? map)
    {
        if (map is null)
        {
            return new EdgeName("", null, EdgeSide.Start);
        }

        var edge = new EdgeName(Phase(map), map.OptionalChoice<StepKind>("step"), map.Choice<EdgeSide>("edge"));
        map.Finish();
        return edge;
    }
}
