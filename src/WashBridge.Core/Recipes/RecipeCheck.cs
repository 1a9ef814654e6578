using WashBridge.Core.Cycles;
using WashBridge.Core.Verdicts;

namespace WashBridge.Core.Recipes;

/// <summary>Finds everything in a recipe that could never be judged, or never be met, on a programme.</summary>
public static class RecipeCheck
{
    /// <summary>All problems at once, in the order of the recipe; empty when there are none.</summary>
    public static IReadOnlyList<RecipeProblem> Problems(Recipe recipe, IReadOnlyList<PhaseDefinition> programme)
    {
        ArgumentNullException.ThrowIfNull(recipe);
        ArgumentNullException.ThrowIfNull(programme);
        var problems = new RecipeProblems(programme);
        problems.Require(recipe.Id.Length > 0, RecipeProblemKind.Missing, "id", "nothing", "a name");
        problems.Require(recipe.Version >= 1, RecipeProblemKind.OutOfRange, "version", $"{recipe.Version}", "1 or more");
        problems.Require(recipe.Requirements.Count > 0, RecipeProblemKind.Missing, "requirements", "none", "at least one");
        if (recipe.Rule.Method == DecisionMethod.GuardBand)
        {
            problems.Require(recipe.Rule.Risk is > 0 and < 0.5, RecipeProblemKind.OutOfRange, "rule.risk", $"{recipe.Rule.Risk}", "above 0 and below 0.5");
        }

        for (var i = 0; i < recipe.Requirements.Count; i++)
        {
            var (requirement, path) = (recipe.Requirements[i], $"requirements[{i}]");
            problems.Require(requirement.Id.Length > 0, RecipeProblemKind.Missing, $"{path}.id", "nothing", "a name unique in the recipe");
            var isTaken = requirement.Id == Judge.ProgrammeComplete || recipe.Requirements.Take(i).Any(r => r.Id == requirement.Id);
            problems.Require(!isTaken, RecipeProblemKind.Duplicate, $"{path}.id", requirement.Id, $"a name unique in the recipe, other than {Judge.ProgrammeComplete}");
            Check(requirement, path, problems);
        }

        return problems.All;
    }

    private static void Check(Requirement requirement, string path, RecipeProblems problems)
    {
        switch (requirement)
        {
            case ContactTime contact:
                Check(contact, path, problems);
                break;
            case StepTime step:
                problems.Step(step.Phase, step.Step, path);
                problems.Limits(step.AtLeast, step.AtMost, path);
                break;
            case TimeBeyond beyond:
                problems.Signal(beyond.Signal, $"{path}.signal", unit: null);
                problems.Phases(beyond.Phases, $"{path}.phases");
                problems.Positive(beyond.AtLeast, $"{path}.atLeast");
                problems.Require(double.IsFinite(beyond.Value), RecipeProblemKind.OutOfRange, $"{path}.value", $"{beyond.Value}", "a number");
                problems.Uncertainty(beyond.SensorUncertainty, path);
                break;
            case PassCount passes:
                problems.Phase(passes.Phase, $"{path}.phase");
                problems.Require(passes.AtLeast >= 1, RecipeProblemKind.OutOfRange, $"{path}.atLeast", $"{passes.AtLeast}", "1 or more");
                break;
            case SwingCount swings:
                problems.Swings(swings.Phase, $"{path}.phase");
                problems.Require(swings.AtLeast >= 1, RecipeProblemKind.OutOfRange, $"{path}.atLeast", $"{swings.AtLeast}", "1 or more");
                break;
            case PhaseOrder order:
                problems.Phases(order.Phases, $"{path}.phases");
                problems.Ordered(order.Phases, $"{path}.phases");
                break;
            case DrainLimit drains:
                problems.Positive(drains.AtMost, $"{path}.atMost");
                problems.Drains(drains.Phases, $"{path}.phases");
                break;
            case ResidualOxygen oxygen:
                Check(oxygen, path, problems);
                break;
            case ThermalDose dose:
                problems.Signal(dose.Signal, $"{path}.signal", unit: "Cel");
                problems.Phases(dose.Phases, $"{path}.phases");
                problems.Require(dose.AtLeast > 0 && double.IsFinite(dose.AtLeast), RecipeProblemKind.OutOfRange, $"{path}.atLeast", $"{dose.AtLeast}", "above 0");
                problems.Uncertainty(dose.SensorUncertainty, path);
                break;
            default:
                problems.Require(false, RecipeProblemKind.Unknown, path, requirement.GetType().Name, "a requirement of a known type");
                break;
        }
    }

    private static void Check(ContactTime contact, string path, RecipeProblems problems)
    {
        var areKnown = problems.Edge(contact.From, $"{path}.from") & problems.Edge(contact.To, $"{path}.to");
        problems.Limits(contact.AtLeast, contact.AtMost, path);
        problems.Require(
            !contact.EveryPass || contact.From.Phase == contact.To.Phase,
            RecipeProblemKind.Contradiction, $"{path}.everyPass", $"true, with edges in {contact.From.Phase} and {contact.To.Phase}", "true only when both edges are in one phase");
        if (areKnown)
        {
            var isForward = problems.PlaceOf(contact.From).CompareTo(problems.PlaceOf(contact.To)) < 0;
            problems.Require(isForward, RecipeProblemKind.Contradiction, $"{path}.to", Wording.Of(contact.To), $"an edge after {Wording.Of(contact.From)}");
        }
    }

    private static void Check(ResidualOxygen oxygen, string path, RecipeProblems problems)
    {
        problems.Swings(oxygen.Phase, $"{path}.phase");
        problems.Require(oxygen.AtMost is > 0 and < 1, RecipeProblemKind.OutOfRange, $"{path}.atMost", $"{oxygen.AtMost}", "a volume fraction above 0 and below 1");
        problems.Require(oxygen.Initial is > 0 and <= 1, RecipeProblemKind.OutOfRange, $"{path}.initial", $"{oxygen.Initial}", "a volume fraction above 0, at most 1");
        problems.Require(oxygen.InPurgeGas is >= 0 and < 1, RecipeProblemKind.OutOfRange, $"{path}.inPurgeGas", $"{oxygen.InPurgeGas}", "a volume fraction from 0, below 1");
        problems.Require(
            oxygen.InPurgeGas < oxygen.AtMost,
            RecipeProblemKind.Contradiction, $"{path}.atMost", $"{oxygen.AtMost}", $"above the oxygen in the purge gas ({oxygen.InPurgeGas}), which no purge goes below");
        problems.Uncertainty(oxygen.SensorUncertainty, path);
    }
}
