using WashBridge.Configuration.Yaml;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;

namespace WashBridge.Configuration.Binding;

/// <summary>How signals tell the position in the programme: a table of step codes, or rules over valve and pump bits.</summary>
internal static class SequenceBinder
{
    public const int MaxEntries = 500;

    private const string Allowed = "step-table with idle-codes, or step-rules";

    public static SequenceRule Bind(MapBinder? map, BoundProgramme programme)
    {
        var none = new StepRules([]);
        if (map is null)
        {
            return none;
        }

        var isTable = map.Node.Find("step-table") is not null;
        if (isTable == map.Node.Find("step-rules") is not null)
        {
            map.Problems.Add(map.Place, "exactly one of step-table and step-rules tells where the controller is", isTable ? "both" : "neither", Allowed);
            return none;
        }

        SequenceRule rule = isTable ? BindTable(map, programme) : BindRules(map, programme);
        map.Finish();
        return rule;
    }

    private static StepTable BindTable(MapBinder map, BoundProgramme programme)
    {
        var before = map.Problems.Count;
        var seen = new Dictionary<int, int>();
        var codes = new Dictionary<int, ProgrammePosition>();
        foreach (var entry in map.List("step-table", 1, MaxEntries).Select(n => MapBinder.Of(n, map.Problems)).OfType<MapBinder>())
        {
            var code = Code(entry.Require("code", Scalars.WholeRange(int.MinValue, int.MaxValue)), seen, map.Problems);
            var position = Position(entry, programme);
            var pass = entry.OptionalInteger("pass", 1, 100);
            entry.Finish();
            if (code is { } number && position is { } known)
            {
                codes.Add(number, known with { Pass = pass });
            }
        }

        var table = new StepTable(codes, Codes(map.List("idle-codes", 1, MaxEntries)), Codes(map.OptionalList("paused-codes", 0, MaxEntries)), Codes(map.OptionalList("fault-codes", 0, MaxEntries)));
        if (map.Problems.Count == before && programme.IsComplete)
        {
            CheckReached(map.PlaceOf("step-table"), programme, codes.Values.Select(p => (p.Phase, p.Step)), "no code leads there", map.Problems);
        }

        return table;

        HashSet<int> Codes(IReadOnlyList<YamlNode> nodes) => [.. nodes.Select(n => Code(n, seen, map.Problems)).OfType<int>()];
    }

    /// <summary>A code means one thing only.</summary>
    private static int? Code(YamlNode? node, Dictionary<int, int> seen, ProblemList problems)
    {
        if (node is null || Scalars.Integer(node, int.MinValue, int.MaxValue, problems) is not { } code)
        {
            return null;
        }

        if (!seen.TryAdd(code, node.Place.Line))
        {
            problems.Add(node, $"this code already has a meaning in line {seen[code]}", "each code once");
            return null;
        }

        return code;
    }

    private static ProgrammePosition? Position(MapBinder entry, BoundProgramme programme)
    {
        var phase = programme.Resolve(entry.Require("phase", "a phase of the programme"), entry.Problems);
        return Step(entry) is { } kind && phase is not null && programme.HasStep(phase, kind, entry.PlaceOf("step"), entry.Problems) ? new ProgrammePosition(phase.Id, kind) : null;
    }

    private static StepRules BindRules(MapBinder map, BoundProgramme programme)
    {
        var rules = new List<StepRule>();
        var before = map.Problems.Count;
        foreach (var entry in map.List("step-rules", 1, MaxEntries).Select(n => MapBinder.Of(n, map.Problems)).OfType<MapBinder>())
        {
            rules.Add(BindRule(entry, programme));
            entry.Finish();
        }

        if (map.Problems.Count == before && programme.IsComplete)
        {
            CheckReached(map.PlaceOf("step-rules"), programme, rules.SelectMany(r => r.Phases.Select(p => (p, r.Step))), "no rule leads there", map.Problems);
            if (rules.TrueForAll(r => r.Phases.Count > 0))
            {
                map.Problems.Add(map.PlaceOf("step-rules"), "no rule tells when the washer is idle, so that a cycle would never end", "", "a rule with idle: true");
            }
        }

        return new StepRules(rules);
    }

    private static StepRule BindRule(MapBinder entry, BoundProgramme programme)
    {
        var when = Conditions(entry.Map("when"));
        if (entry.Flag("idle", false))
        {
            return new StepRule([], default, when);
        }

        var step = Step(entry);
        var phases = new List<string>();
        foreach (var node in entry.List("phases", 1, ProgrammeBinder.MaxPhases))
        {
            if (programme.Resolve(node, entry.Problems) is { } phase && step is { } kind && programme.HasStep(phase, kind, node.Place, entry.Problems))
            {
                phases.Add(phase.Id);
            }
        }

        return new StepRule(phases, step ?? default, when);
    }

    private static StepKind? Step(MapBinder entry) =>
        entry.Require("step", Scalars.OneOf(Names.Of<StepKind>())) is { } node ? Scalars.Choice<StepKind>(node, entry.Problems) : null;

    private static Dictionary<string, bool> Conditions(MapBinder? map)
    {
        var conditions = new Dictionary<string, bool>();
        if (map is not null && map.Node.Entries.Count == 0)
        {
            map.Problems.Add(map.Place, "a rule without conditions always holds", "nothing", "at least one signal with true or false");
        }

        foreach (var (key, value) in map?.Node.Entries ?? [])
        {
            if (SignalCatalogue.Find(key.Text) is not { Type: SignalType.Flag })
            {
                var flags = SignalCatalogue.All.Where(d => d.Type == SignalType.Flag).Select(d => d.Name).ToList();
                map!.Problems.Add(value.Place, $"this is no signal that is true or false{Suggestion.For(key.Text, flags)}", $"\"{key.Text}\"", Scalars.OneOf(flags));
            }
            else if (Scalars.Flag(value, map!.Problems) is { } state)
            {
                conditions.Add(key.Text, state);
            }
        }

        return conditions;
    }

    /// <summary>A step that nothing leads to would never be seen, and no keg could be proven.</summary>
    private static void CheckReached(Place place, BoundProgramme programme, IEnumerable<(string Phase, StepKind Step)> reached, string message, ProblemList problems)
    {
        var known = reached.ToHashSet();
        foreach (var (phase, step) in programme.Phases.SelectMany(p => p.Steps.Distinct().Select(s => (p.Id, s))))
        {
            if (!known.Contains((phase, step)))
            {
                problems.Add(place, $"the programme has the step {Names.NameOf(step)} in phase {phase}, but {message}", "", "an entry for it, or a programme without it");
            }
        }
    }
}
