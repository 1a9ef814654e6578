using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Verdicts;

namespace WashBridge.Core.Tests.Recipes;

public sealed class RecipeCheckTests
{
    private static readonly IReadOnlyList<PhaseDefinition> Programme =
    [
        new("rinse", PhaseKind.Rinse, [StepKind.WallSpray, StepKind.SpearRinse, StepKind.Drain]),
        new("sanitise", PhaseKind.Sanitise, [StepKind.WallSpray, StepKind.Hold, StepKind.Drain]),
        new("purge", PhaseKind.Purge, [StepKind.Pressurise, StepKind.Vent]),
    ];

    private static readonly ContactTime Dwell = new()
    {
        Id = "dwell",
        From = new("sanitise", StepKind.WallSpray, EdgeSide.Start),
        To = new("sanitise", StepKind.Hold, EdgeSide.End),
        AtLeast = TimeSpan.FromSeconds(45),
    };

    private static readonly StepTime Spray = new() { Id = "spray", Phase = "rinse", Step = StepKind.WallSpray, AtLeast = TimeSpan.FromSeconds(10) };

    private static readonly TimeBeyond Warm = new()
    {
        Id = "warm", Signal = "temperature.sanitiser", Value = 20, Phases = ["sanitise"], AtLeast = TimeSpan.FromSeconds(40),
    };

    private static readonly ResidualOxygen Oxygen = new() { Id = "oxygen", Phase = "purge", AtMost = 0.01 };

    private static readonly ThermalDose Dose = new() { Id = "dose", Method = DoseMethod.A0, Signal = "temperature.return", Phases = ["rinse"], AtLeast = 60 };

    private static IReadOnlyList<RecipeProblem> Problems(params Requirement[] requirements) =>
        RecipeCheck.Problems(new Recipe { Id = "standard", Version = 1, Requirements = requirements }, Programme);

    [Fact]
    public void A_sound_recipe_has_no_problem() => Assert.Empty(Problems(
        Dwell, Spray, Warm, Oxygen, Dose,
        new PassCount { Id = "passes", Phase = "rinse", AtLeast = 1 },
        new SwingCount { Id = "swings", Phase = "purge", AtLeast = 2 },
        new PhaseOrder { Id = "order", Phases = ["rinse", "sanitise", "purge"] },
        new DrainLimit { Id = "drain", AtMost = TimeSpan.FromSeconds(20) },
        new DrainLimit { Id = "drain-rinse", AtMost = TimeSpan.FromSeconds(20), Phases = ["rinse"] },
        new ContactTime { Id = "whole", From = new("rinse", null, EdgeSide.Start), To = new("purge", null, EdgeSide.End), AtMost = TimeSpan.FromMinutes(10) }));

    public static TheoryData<Requirement, string, RecipeProblemKind> Faulty { get; } = new()
    {
        { Dwell with { From = Dwell.From with { Phase = "sanitize" } }, "requirements[0].from.phase", RecipeProblemKind.Unknown },
        { Dwell with { To = Dwell.To with { Step = StepKind.Vent } }, "requirements[0].to.step", RecipeProblemKind.Unknown },
        { Dwell with { AtLeast = null }, "requirements[0].atLeast", RecipeProblemKind.Missing },
        { Dwell with { AtLeast = TimeSpan.Zero }, "requirements[0].atLeast", RecipeProblemKind.OutOfRange },
        { Dwell with { AtMost = TimeSpan.FromSeconds(-1), AtLeast = null }, "requirements[0].atMost", RecipeProblemKind.OutOfRange },
        { Dwell with { AtMost = TimeSpan.FromSeconds(44) }, "requirements[0].atLeast", RecipeProblemKind.Contradiction },
        { Dwell with { From = Dwell.To, To = Dwell.From }, "requirements[0].to", RecipeProblemKind.Contradiction },
        { Dwell with { To = Dwell.From }, "requirements[0].to", RecipeProblemKind.Contradiction },
        { Dwell with { To = new("purge", StepKind.Vent, EdgeSide.End), EveryPass = true }, "requirements[0].everyPass", RecipeProblemKind.Contradiction },
        { Dwell with { Id = "" }, "requirements[0].id", RecipeProblemKind.Missing },
        { Dwell with { Id = Judge.ProgrammeComplete }, "requirements[0].id", RecipeProblemKind.Duplicate },
        { Spray with { Phase = "wash" }, "requirements[0].phase", RecipeProblemKind.Unknown },
        { Spray with { Step = StepKind.Hold }, "requirements[0].step", RecipeProblemKind.Unknown },
        { Spray with { AtLeast = null }, "requirements[0].atLeast", RecipeProblemKind.Missing },
        { Warm with { Signal = "temperature.sanitizer" }, "requirements[0].signal", RecipeProblemKind.Unknown },
        { Warm with { Signal = "drain.dry" }, "requirements[0].signal", RecipeProblemKind.Unknown },
        { Warm with { Phases = [] }, "requirements[0].phases", RecipeProblemKind.Missing },
        { Warm with { Phases = ["sanitise", "wash"] }, "requirements[0].phases[1]", RecipeProblemKind.Unknown },
        { Warm with { Phases = ["sanitise", "sanitise"] }, "requirements[0].phases[1]", RecipeProblemKind.Duplicate },
        { Warm with { Value = double.NaN }, "requirements[0].value", RecipeProblemKind.OutOfRange },
        { Warm with { AtLeast = TimeSpan.Zero }, "requirements[0].atLeast", RecipeProblemKind.OutOfRange },
        { Warm with { SensorUncertainty = -0.1 }, "requirements[0].sensorUncertainty", RecipeProblemKind.OutOfRange },
        { new PassCount { Id = "passes", Phase = "rinse", AtLeast = 0 }, "requirements[0].atLeast", RecipeProblemKind.OutOfRange },
        { new SwingCount { Id = "swings", Phase = "rinse", AtLeast = 2 }, "requirements[0].phase", RecipeProblemKind.Contradiction },
        { new SwingCount { Id = "swings", Phase = "purge", AtLeast = 0 }, "requirements[0].atLeast", RecipeProblemKind.OutOfRange },
        { new PhaseOrder { Id = "order", Phases = ["sanitise", "rinse"] }, "requirements[0].phases[1]", RecipeProblemKind.Contradiction },
        { new PhaseOrder { Id = "order", Phases = [] }, "requirements[0].phases", RecipeProblemKind.Missing },
        { new DrainLimit { Id = "drain", AtMost = TimeSpan.Zero }, "requirements[0].atMost", RecipeProblemKind.OutOfRange },
        { new DrainLimit { Id = "drain", AtMost = TimeSpan.FromSeconds(9), Phases = ["purge"] }, "requirements[0].phases[0]", RecipeProblemKind.Contradiction },
        { Oxygen with { AtMost = 1 }, "requirements[0].atMost", RecipeProblemKind.OutOfRange },
        { Oxygen with { InPurgeGas = 0.01 }, "requirements[0].atMost", RecipeProblemKind.Contradiction },
        { Oxygen with { InPurgeGas = -0.01 }, "requirements[0].inPurgeGas", RecipeProblemKind.OutOfRange },
        { Oxygen with { Initial = 0 }, "requirements[0].initial", RecipeProblemKind.OutOfRange },
        { Oxygen with { SensorUncertainty = double.NaN }, "requirements[0].sensorUncertainty", RecipeProblemKind.OutOfRange },
        { Dose with { Signal = "pressure.keg" }, "requirements[0].signal", RecipeProblemKind.Unknown },
        { Dose with { AtLeast = 0 }, "requirements[0].atLeast", RecipeProblemKind.OutOfRange },
    };

    [Theory]
    [MemberData(nameof(Faulty))]
    public void Each_fault_is_found_where_it_is(Requirement requirement, string path, RecipeProblemKind kind)
    {
        var problem = Assert.Single(Problems(requirement));

        Assert.Equal((path, kind), (problem.Path, problem.Kind));
        Assert.NotEmpty(problem.Found);
        Assert.NotEmpty(problem.Allowed);
    }

    [Fact]
    public void All_problems_are_told_at_once_with_what_was_found_and_what_is_allowed()
    {
        var problems = RecipeCheck.Problems(
            new Recipe { Id = "", Version = 0, Rule = new(DecisionMethod.GuardBand, 0.5), Requirements = [Spray, Spray with { Phase = "wash" }] }, Programme);

        Assert.Equal(["id", "version", "rule.risk", "requirements[1].id", "requirements[1].phase"], problems.Select(p => p.Path));
        Assert.Equal("requirements[1].phase: found \"wash\", allowed: rinse, sanitise, purge", problems[^1].ToString());
    }

    [Fact]
    public void A_recipe_without_requirements_proves_nothing() => Assert.Equal("requirements", Assert.Single(Problems()).Path);
}
