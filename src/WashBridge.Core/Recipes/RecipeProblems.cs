using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Verdicts;

namespace WashBridge.Core.Recipes;

/// <summary>Collects problems of a recipe against a programme.</summary>
internal sealed class RecipeProblems(IReadOnlyList<PhaseDefinition> programme)
{
    private readonly List<RecipeProblem> all = [];

    public IReadOnlyList<RecipeProblem> All => all;

    public bool Require(bool holds, RecipeProblemKind kind, string path, string found, string allowed)
    {
        if (!holds)
        {
            all.Add(new RecipeProblem(kind, path, found, allowed));
        }

        return holds;
    }

    public bool Phase(string phase, string path) =>
        Require(Find(phase) is not null, RecipeProblemKind.Unknown, path, Quoted(phase), Wording.List(programme.Select(p => p.Id)));

    public bool Step(string phase, StepKind step, string path) => Phase(phase, $"{path}.phase") && HasStep(phase, step, $"{path}.step");

    public bool Edge(EdgeName edge, string path) =>
        Phase(edge.Phase, $"{path}.phase") && (edge.Step is not { } step || HasStep(edge.Phase, step, $"{path}.step"));

    public void Phases(IReadOnlyList<string> phases, string path)
    {
        Require(phases.Count > 0, RecipeProblemKind.Missing, path, "none", $"at least one of {Wording.List(programme.Select(p => p.Id))}");
        for (var i = 0; i < phases.Count; i++)
        {
            Phase(phases[i], $"{path}[{i}]");
            Require(!phases.Take(i).Contains(phases[i]), RecipeProblemKind.Duplicate, $"{path}[{i}]", Quoted(phases[i]), "each phase once");
        }
    }

    /// <summary>An order that the programme does not run in can never be met.</summary>
    public void Ordered(IReadOnlyList<string> phases, string path)
    {
        for (var i = 1; i < phases.Count; i++)
        {
            var (before, at) = (IndexOf(phases[i - 1]), IndexOf(phases[i]));
            Require(before < 0 || at < 0 || before <= at, RecipeProblemKind.Contradiction, $"{path}[{i}]", Quoted(phases[i]), $"a phase that the programme runs after {phases[i - 1]}");
        }
    }

    public void Swings(string phase, string path)
    {
        if (Phase(phase, path))
        {
            var steps = Find(phase)!.Steps;
            Require(
                steps.Contains(StepKind.Pressurise) && steps.Contains(StepKind.Vent),
                RecipeProblemKind.Contradiction, path, Quoted(phase), "a phase with pressurise and vent steps");
        }
    }

    public void Drains(IReadOnlyList<string> phases, string path)
    {
        if (phases.Count == 0)
        {
            Require(programme.Any(p => p.Steps.Contains(StepKind.Drain)), RecipeProblemKind.Contradiction, path, "all phases", "a programme with a drain step");
            return;
        }

        Phases(phases, path);
        for (var i = 0; i < phases.Count; i++)
        {
            Require(Find(phases[i])?.Steps.Contains(StepKind.Drain) ?? true, RecipeProblemKind.Contradiction, $"{path}[{i}]", Quoted(phases[i]), "a phase with a drain step");
        }
    }

    public void Signal(string name, string path, string? unit)
    {
        var definition = SignalCatalogue.Find(name);
        var allowed = SignalCatalogue.All.Where(d => d.Type == SignalType.Quantity && (unit is null || d.Unit == unit || d.Name == "other.*")).Select(d => d.Name).ToList();
        var isKnown = definition is not null && allowed.Contains(definition.Name);
        Require(isKnown, RecipeProblemKind.Unknown, path, Quoted(name), Wording.List(allowed));
    }

    public void Limits(TimeSpan? atLeast, TimeSpan? atMost, string path)
    {
        Require(atLeast is not null || atMost is not null, RecipeProblemKind.Missing, $"{path}.atLeast", "neither atLeast nor atMost", "one of them or both");
        Positive(atLeast, $"{path}.atLeast");
        Positive(atMost, $"{path}.atMost");
        Require(!(atLeast > atMost), RecipeProblemKind.Contradiction, $"{path}.atLeast", $"{atLeast?.TotalSeconds} s", $"at most {atMost?.TotalSeconds} s (atMost)");
    }

    public void Positive(TimeSpan? limit, string path) =>
        Require(limit is null || limit > TimeSpan.Zero, RecipeProblemKind.OutOfRange, path, $"{limit?.TotalSeconds} s", "above 0 s");

    public void Uncertainty(double uncertainty, string path) =>
        Require(uncertainty >= 0 && double.IsFinite(uncertainty), RecipeProblemKind.OutOfRange, $"{path}.sensorUncertainty", $"{uncertainty}", "0 or more");

    /// <summary>Where in the programme an edge comes: phase, step, start before end. The start of a phase comes before its steps, its end after.</summary>
    public (int Phase, int Step, int Side) PlaceOf(EdgeName edge)
    {
        var phase = IndexOf(edge.Phase);
        var steps = programme[phase].Steps;
        if (edge.Step is not { } kind)
        {
            return edge.Side == EdgeSide.Start ? (phase, -1, 0) : (phase, steps.Count, 0);
        }

        // A kind that comes twice in a pass: its first start and its last end, as verdicts take it.
        return edge.Side == EdgeSide.Start ? (phase, steps.ToList().IndexOf(kind), 0) : (phase, steps.ToList().LastIndexOf(kind), 1);
    }

    private bool HasStep(string phase, StepKind step, string path)
    {
        var steps = Find(phase)!.Steps;
        return Require(steps.Contains(step), RecipeProblemKind.Unknown, path, Wording.Of(step), Wording.List(steps.Distinct().Select(Wording.Of)));
    }

    private PhaseDefinition? Find(string phase) => programme.FirstOrDefault(p => p.Id == phase);

    private int IndexOf(string phase) => programme.Select(p => p.Id).ToList().IndexOf(phase);

    private static string Quoted(string text) => $"\"{text}\"";
}
