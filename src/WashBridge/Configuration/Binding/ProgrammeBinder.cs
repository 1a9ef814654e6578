using WashBridge.Configuration.Yaml;
using WashBridge.Core.Cycles;

namespace WashBridge.Configuration.Binding;

/// <summary>The phases of a washer's programme, and where each stands in the file.</summary>
internal sealed record BoundProgramme(IReadOnlyList<PhaseDefinition> Phases, IReadOnlyDictionary<string, Place> Places)
{
    public PhaseDefinition? Find(string id) => Phases.FirstOrDefault(p => p.Id == id);

    /// <summary>The phase a value names; null after reporting that there is none of that name.</summary>
    public PhaseDefinition? Resolve(YamlNode? node, ProblemList problems)
    {
        if (node is null || Scalars.Text(node, TextForms.Id, problems) is not { } id)
        {
            return null;
        }

        if (Find(id) is not { } phase)
        {
            problems.Add(node, $"the programme has no such phase{Suggestion.For(id, Phases.Select(p => p.Id))}", string.Join(", ", Phases.Select(p => p.Id)));
            return null;
        }

        return phase;
    }
}

internal static class ProgrammeBinder
{
    public const int MaxPhases = 40;
    public const int MaxSteps = 20;

    public static BoundProgramme Bind(MapBinder washer)
    {
        var phases = new List<PhaseDefinition>();
        var places = new Dictionary<string, Place>();
        foreach (var map in washer.List("programme", 1, MaxPhases).Select(n => MapBinder.Of(n, washer.Problems)).OfType<MapBinder>())
        {
            var id = map.Text("phase", TextForms.Id);
            var kind = map.Choice<PhaseKind>("kind");
            var steps = map.List("steps", 1, MaxSteps).Select(n => Scalars.Choice<StepKind>(n, map.Problems)).OfType<StepKind>().ToList();
            map.Finish();
            if (id.Length > 0 && places.TryAdd(id, map.PlaceOf("phase")))
            {
                phases.Add(new PhaseDefinition(id, kind, steps));
            }
        }

        Unique.Check(washer.Node.Find("programme")?.Value, "phase", "phase", washer.Problems);
        return new BoundProgramme(phases, places);
    }
}
