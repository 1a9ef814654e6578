using WashBridge.Core.Cycles;
using static WashBridge.Core.Tests.Cycles.Script;

namespace WashBridge.Core.Tests.Cycles;

/// <summary>Positions from valve bits.</summary>
public sealed class RuleTests
{
    private const string Idle = "0 running=0 water=0 sanitiser=0 drain=0 co2=0 vent=0\n";

    [Fact]
    public void Steps_that_look_alike_are_told_apart_by_their_place_in_the_programme()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Rules(), Idle + """
            1 running=1 water=1
            2 water=0 drain=1
            3 drain=0 sanitiser=1
            4 sanitiser=0 drain=1
            5 drain=0 water=1
            6 water=0 drain=1
            7 drain=0 co2=1
            8 co2=0 vent=1
            9 running=0 vent=0
            """));
        Assert.Equal(["rinse", "sanitise", "last-rinse", "purge"], cycle.Phases.Select(p => p.Id));
        Assert.All(cycle.Phases, p => Assert.Equal(2, p.Passes.Single().Steps.Count));
        Assert.Equal(CycleOutcome.Completed, cycle.Outcome);
    }

    [Fact]
    public void A_combination_without_a_meaning_leaves_the_edge_open_until_the_next_that_has_one()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Rules(), Idle + """
            1 running=1 water=1
            2
            3 drain=1
            4 water=0
            5 running=0 drain=0
            """));
        Assert.Equal(Edge(2, 4.01), cycle.Phases[0].Passes[0].Steps[0].End);
    }

    [Fact]
    public void After_a_gap_a_look_that_several_phases_share_tells_no_position()
    {
        var cycles = CyclesOf(Washers.Rules(), Idle + """
            1 running=1 water=1
            2
            4
            6 water=0 drain=1
            12
            13 drain=0 water=1
            14 water=0 drain=1
            15 drain=0 co2=1
            16 co2=0 vent=1
            17 running=0 vent=0
            """);
        Assert.Equal([CycleOutcome.EndUnseen, CycleOutcome.Completed], cycles.Select(c => c.Outcome));
        Assert.Equal(["purge"], cycles[1].Phases.Select(p => p.Id));
        Assert.Equal(Edge(6, 15.01), cycles[1].Phases[0].Start);
    }

    [Fact]
    public void A_cycle_of_which_no_step_can_be_placed_is_recorded_without_steps()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Rules(), Idle + """
            10 running=1 water=1
            12 water=0 drain=1
            14 running=0 drain=0
            """));
        Assert.Empty(cycle.Phases);
        Assert.Equal((true, CycleOutcome.EndUnseen), (cycle.StartUnseen, cycle.Outcome));
        Assert.Equal((Edge(0, 10.01), Edge(12, 14.01)), (cycle.Start, cycle.End));
    }

    [Fact]
    public void The_same_spray_again_is_the_next_pass_of_the_phase_that_runs()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Rules(), Idle + """
            1 running=1 water=1
            2 water=0 drain=1
            3 drain=0 water=1
            4 water=0 drain=1
            5 running=0 drain=0
            """));
        Assert.Equal([1, 2], Assert.Single(cycle.Phases).Passes.Select(p => p.Number));
    }

    [Fact]
    public void A_look_shared_with_the_very_next_phase_belongs_to_that_phase()
    {
        var model = Washers.Rules();
        model = model with
        {
            Programme = [new("evacuate", PhaseKind.Evacuate, [StepKind.Pressurise, StepKind.Drain]), new("purge", PhaseKind.Purge, [StepKind.Pressurise, StepKind.Vent])],
            Sequence = new StepRules(
            [
                new StepRule([], default, new Dictionary<string, bool> { ["sequence.running"] = false }),
                new StepRule(["evacuate", "purge"], StepKind.Pressurise, new Dictionary<string, bool> { ["valve.co2"] = true }),
                new StepRule(["evacuate"], StepKind.Drain, new Dictionary<string, bool> { ["valve.drain"] = true }),
                new StepRule(["purge"], StepKind.Vent, new Dictionary<string, bool> { ["valve.vent"] = true }),
            ]),
        };
        var cycle = Assert.Single(CyclesOf(model, Idle + """
            1 running=1 co2=1
            2 co2=0 drain=1
            3 drain=0 co2=1
            4 co2=0 vent=1
            5 vent=0 co2=1
            6 co2=0 vent=1
            7 running=0 vent=0
            """));
        Assert.Equal([("evacuate", 1), ("purge", 2)], cycle.Phases.Select(p => (p.Id, p.Passes.Count)));
    }

    [Fact]
    public void A_flag_of_several_stations_is_set_when_any_is()
    {
        var model = Washers.Rules();
        model = model with
        {
            Stations = 2,
            Signals = [.. model.Signals.Where(s => s.Name != "valve.vent"), .. new[] { 1, 2 }.Select(i => model.Signals.Single(s => s.Name == "valve.vent") with { Station = i })],
        };
        var cycle = Assert.Single(CyclesOf(model, """
            0 running=0 water=0 sanitiser=0 drain=0 co2=0 vent1=0 vent2=0
            1 running=1 co2=1
            2 co2=0 vent2=1
            3 running=0 vent2=0
            """));
        Assert.Equal([StepKind.Pressurise, StepKind.Vent], cycle.Phases[0].Passes[0].Steps.Select(s => s.Kind));
    }
}
