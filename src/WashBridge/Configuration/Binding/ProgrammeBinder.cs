using WashBridge.Configuration.Yaml;
using WashBridge.Core.Cycles;

namespace WashBridge.Configuration.Binding;

/// <summary>The phases of a washer's programme.</summary>
/// <param name="Phases">In programme order.</param>
/// <param name="IsComplete">False if some could not be understood: then what seems to name a phase or step that is not there may be right.</param>
internal sealed record BoundProgramme(IReadOnlyList<PhaseDefinition> Phases, bool IsComplete)
{
    public PhaseDefinition? Find(string id) => Phases.FirstOrDefault(p => p.Id == id);

    /// <summary>The phase a value names; null if there is none of that name.</summary>
    public PhaseDefinition? Resolve(YamlNode? node, ProblemList problems)
    {
        if (node is null || Scalars.Text(node, TextForms.Id, problems) is not { } id)
        {
            return null;
        }

        var phase = Find(id);
        if (phase is null && IsComplete)
        {
            problems.Add(node, $"the programme has no such phase{Suggestion.For(id, Phases.Select(p => p.Id))}", string.Join(", ", Phases.Select(p => p.Id)));
        }

        return phase;
    }

    public bool HasStep(PhaseDefinition phase, StepKind step, Place place, ProblemList problems)
    {
        var has = phase.Steps.Contains(step);
        if (!has && IsComplete)
        {
            problems.Add(place, $"the phase {phase.Id} has no such step", Names.NameOf(step), Scalars.OneOf(phase.Steps.Select(Names.NameOf)));
        }

        return has;
    }
}

internal static class ProgrammeBinder
{
    public const int MaxPhases = 40;
    public const int MaxSteps = 20;

    public static BoundProgramme Bind(MapBinder washer)
    {
        var before = washer.Problems.Count;
        var phases = new List<PhaseDefinition>();
        foreach (var map in washer.List("programme", 1, MaxPhases).Select(n => MapBinder.Of(n, washer.Problems)).OfType<MapBinder>())
        {
            var id = map.Text("phase", TextForms.Id);
            var kind = map.Choice<PhaseKind>("kind");
            var steps = map.List("steps", 1, MaxSteps).Select(n => Scalars.Choice<StepKind>(n, map.Problems)).OfType<StepKind>().ToList();
            map.Finish();
            phases.Add(new PhaseDefinition(id, kind, steps));
        }

        Unique.Check(washer.Node.Find("programme")?.Value, "phase", washer.Problems);
        return new BoundProgramme([.. phases.DistinctBy(p => p.Id)], washer.Problems.Count == before);
    }
}
