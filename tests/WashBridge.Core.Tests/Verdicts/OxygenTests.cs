using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Verdicts;
using WashBridge.Core.Verdicts.Calculations;
using static WashBridge.Core.Tests.Verdicts.CycleScript;

namespace WashBridge.Core.Tests.Verdicts;

public sealed class OxygenTests
{
    private const double Atmosphere = 1.01325;

    private static readonly TraceScript Pressure = new("pressure.keg", "bar(a)") { Every = 0.1 };

    private static readonly ResidualOxygen Asked = new() { Id = "oxygen", Phase = "purge", AtMost = 0.012 };

    /// <summary>Three swings, each 10 s of filling and 10 s of venting, after a drain of 20 s.</summary>
    private static CycleScript Cycle() => new CycleScript { EdgeWidth = 0.2 }
        .Phase("sanitise", PhaseKind.Sanitise).Pass(new Step(StepKind.Drain, 20))
        .Phase("purge", PhaseKind.Purge)
        .Pass(new(StepKind.Pressurise, 10), new Step(StepKind.Vent, 10))
        .Pass(new(StepKind.Pressurise, 10), new Step(StepKind.Vent, 10))
        .Pass(new(StepKind.Pressurise, 10), new Step(StepKind.Vent, 10));

    /// <summary>Fills to the peak within 5 s and holds it, then vents within 5 s.</summary>
    private static Func<double, double> Swings(double peak) => t =>
    {
        var inSwing = (t - 20) % 20;
        var share = t < 20 || t > 80 ? 0 : inSwing < 10 ? Math.Min(1, inSwing / 5) : Math.Max(0, 1 - ((inSwing - 10) / 5));
        return Math.Round(Atmosphere + ((peak - Atmosphere) * share), 6);
    };

    [Fact]
    public void Three_full_swings_reach_what_the_formula_says()
    {
        var result = Cycle().Judged(Asked, frames: Pressure.Of(Swings(3.01325)));

        // The published form with equal swings; the pressures read are those of the formula, so that the proven bound equals it.
        Assert.Equal(0.007965781119, result.Upper!.Value, 9);
        Assert.InRange(result.Lower!.Value, 0, result.Upper.Value);
        Assert.Equal(Verdict.Met, result.Verdict);
        Assert.Contains("3 swings", result.Evidence, StringComparison.Ordinal);
    }

    [Fact]
    public void Low_gas_pressure_leaves_too_much_oxygen()
    {
        var result = Cycle().Judged(Asked, frames: Pressure.Of(Swings(1.5)));

        Assert.Equal(Verdict.NotMet, result.Verdict);
        Assert.True(result.Lower > 0.012);
    }

    [Fact]
    public void The_sensors_uncertainty_widens_every_pressure()
    {
        var exact = Cycle().Judged(Asked, frames: Pressure.Of(Swings(3.01325)));
        var unsure = Cycle().Judged(Asked with { SensorUncertainty = 0.1 }, frames: Pressure.Of(Swings(3.01325)));

        Assert.Equal(PurgeOxygen.After(0.2095, 0, Enumerable.Repeat((Atmosphere + 0.2, 3.01325 - 0.2), 3)), unsure.Upper!.Value, 9);
        Assert.True(unsure.Lower < exact.Lower);
        Assert.Equal(Verdict.NotProven, unsure.Verdict);
    }

    [Fact]
    public void A_swing_without_readings_dilutes_nothing_and_leaves_all_open_below()
    {
        var result = Cycle().Judged(Asked, frames: (Pressure with { IsLost = t => t is > 39 and < 52 }).Of(Swings(3.01325)));

        Assert.Equal(0.2095 * Math.Pow(Atmosphere / 3.01325, 2), result.Upper!.Value, 9);
        Assert.Equal((Verdict.NotProven, 0.0), (result.Verdict, result.Lower));
    }

    [Fact]
    public void Slow_polls_prove_less_and_never_more()
    {
        var fast = Cycle().Judged(Asked, frames: Pressure.Of(Swings(3.01325)));
        var slow = Cycle().Judged(Asked, frames: (Pressure with { Every = 4, From = -2 }).Of(Swings(3.01325)));

        Assert.True(slow.Upper >= fast.Upper);
        Assert.True(slow.Lower <= fast.Lower);
    }

    [Fact]
    public void A_purge_that_did_not_run_leaves_the_air_that_was_there()
    {
        var script = new CycleScript().Phase("sanitise", PhaseKind.Sanitise).Pass(new Step(StepKind.Drain, 20));

        var result = script.Judged(Asked);

        Assert.Equal((Verdict.NotMet, 0.2095), (result.Verdict, result.Lower));
    }

    [Fact]
    public void A_map_without_the_pressure_is_told()
    {
        var result = Cycle().Judged(Asked);

        Assert.Equal(Verdict.NotProven, result.Verdict);
        Assert.Contains("pressure.keg", result.Evidence, StringComparison.Ordinal);
    }
}
