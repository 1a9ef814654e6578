using WashBridge.Core.Cycles;
using static WashBridge.Core.Tests.Cycles.Script;

namespace WashBridge.Core.Tests.Cycles;

public sealed class WholeCycleTests
{
    private const string Whole = """
        0 step=0
        1 step=11
        3
        5 step=12
        6
        8 step=21
        10 step=22
        12 step=31
        14 step=32
        16
        18
        20 step=33
        22 step=41
        24 step=42
        26 step=0
        """;

    [Fact]
    public void Every_edge_lies_between_the_last_read_of_the_old_step_and_the_first_of_the_new()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table(), Whole));

        Assert.Equal("w1-20310305T080001.010", cycle.Id);
        Assert.Equal(Edge(0, 1.01), cycle.Start);
        Assert.Equal(Edge(24, 26.01), cycle.End);
        Assert.Equal(CycleOutcome.Completed, cycle.Outcome);
        Assert.False(cycle.StartUnseen);
        Assert.Empty(cycle.Gaps);
        var hold = cycle.Phases[2].Passes[0].Steps[1];
        Assert.Equal(StepKind.Hold, hold.Kind);
        Assert.Equal(Edge(12, 14.01), hold.Start);
        Assert.Equal(Edge(18, 20.01), hold.End);
        Assert.Equal(Seconds(3.99, 8.01), hold.Held);
    }

    [Fact]
    public void Phases_come_with_their_steps_in_the_order_of_the_programme()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table(), Whole));
        Assert.Equal(Washers.Programme.Select(p => p.Id), cycle.Phases.Select(p => p.Id));
        Assert.Equal(Washers.Programme.Select(p => p.Steps), cycle.Phases.Select(p => p.Passes.Single().Steps.Select(s => s.Kind).ToArray()));
        Assert.All(cycle.Phases.SelectMany(p => p.Passes).SelectMany(p => p.Steps), s => Assert.True(s.Seen && !s.Interrupted));
        Assert.Equal(Edge(10, 12.01), cycle.Phases[2].Start);
        Assert.Equal(Edge(20, 22.01), cycle.Phases[2].End);
        Assert.Equal(Seconds(7.99, 12.01), cycle.Phases[2].Duration);
    }

    [Fact]
    public void Events_tell_the_cycle_as_it_goes_and_carry_names_made_from_it()
    {
        var events = Fold(Washers.Table(), Whole);
        Assert.Equal(
            ["w1-20310305T080001.010/started", "w1-20310305T080001.010/rinse/1/wall-spray/started", "w1-20310305T080001.010/rinse/1/wall-spray/ended", "w1-20310305T080001.010/rinse/1/drain/started"],
            events.Take(4).Select(e => e.Id));
        Assert.Equal("w1-20310305T080001.010/ended", events[^1].Id);
        Assert.Equal(events.Count, events.Select(e => e.Id).Distinct().Count());
        Assert.All(events, e => Assert.Equal("w1-20310305T080001.010", e.CycleId));
    }

    [Fact]
    public void A_step_that_comes_again_is_the_next_pass()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table(), """
            0 step=0
            1 step=41
            2 step=42
            3 step=41
            4 step=42
            5 step=41
            6 step=42
            7 step=0
            """));
        Assert.Equal([1, 2, 3], Assert.Single(cycle.Phases).Passes.Select(p => p.Number));
        Assert.Equal(CycleOutcome.Completed, cycle.Outcome);
    }

    [Fact]
    public void A_step_that_was_shorter_than_a_poll_is_recorded_as_unseen_within_the_interval_around_it()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table(), """
            0 step=0
            1 step=31
            2 step=33
            3 step=41
            4 step=42
            5 step=0
            """));
        var hold = cycle.Phases[0].Passes[0].Steps[1];
        Assert.Equal((StepKind.Hold, false), (hold.Kind, hold.Seen));
        Assert.Equal(Edge(1, 2.01), hold.Start);
        Assert.Equal(Edge(1, 2.01), hold.End);
        Assert.Equal(Seconds(0, 1.01), hold.Held);
    }

    [Fact]
    public void A_phase_that_never_appears_is_taken_to_be_disabled_while_everything_is_watched()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table(), """
            0 step=0
            1 step=11
            2 step=12
            3 step=31
            4 step=32
            5 step=33
            6 step=41
            7 step=42
            8 step=0
            """));
        Assert.Equal(["rinse", "sanitise", "purge"], cycle.Phases.Select(p => p.Id));
    }

    [Fact]
    public void Idle_before_the_last_step_is_an_abort_and_interrupts_the_step()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table(), """
            0 step=0
            1 step=11
            2 step=12
            3 step=21
            4 step=0
            """));
        Assert.Equal(CycleOutcome.Aborted, cycle.Outcome);
        Assert.True(cycle.Phases[^1].Passes[^1].Steps[^1].Interrupted);
        Assert.DoesNotContain(cycle.Phases, p => p.Passes.Any(x => x.Steps.Any(s => !s.Seen)));
    }

    [Theory]
    [InlineData("99")]
    [InlineData("42 fault=1")]
    public void A_fault_is_an_abort_even_in_the_last_step(string fault)
    {
        var cycles = CyclesOf(Washers.Table("sequence.fault"), $"""
            0 step=0 fault=0
            1 step=41
            2 step=42
            3 step={fault}
            4
            5 step=0 fault=0
            6
            """);
        Assert.Equal(CycleOutcome.Aborted, Assert.Single(cycles).Outcome);
    }

    [Fact]
    public void A_fault_flag_left_from_before_does_not_hide_the_next_cycle()
    {
        var cycles = CyclesOf(Washers.Table("sequence.fault"), """
            0 step=0 fault=1
            1 step=41
            2 step=42
            3 step=0
            """);
        Assert.Equal(CycleOutcome.Completed, Assert.Single(cycles).Outcome);
    }

    [Fact]
    public void Idle_shorter_than_a_poll_still_parts_two_cycles()
    {
        var cycles = CyclesOf(Washers.Table(), """
            0 step=0
            1 step=41
            2 step=42
            3 step=11
            4 step=0
            """);
        Assert.Equal([CycleOutcome.Completed, CycleOutcome.Aborted], cycles.Select(c => c.Outcome));
        Assert.Equal(Edge(2, 3.01), cycles[0].End);
        Assert.Equal(Edge(2, 3.01), cycles[1].Start);
    }

    [Fact]
    public void A_flag_that_says_running_decides_over_a_step_code_left_standing()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table("sequence.running"), """
            0 step=42 running=0
            1 step=41 running=1
            2 step=42
            3 running=0
            4
            """));
        Assert.Equal(Edge(0, 1.01), cycle.Start);
        Assert.Equal(Edge(2, 3.01), cycle.End);
    }

    [Fact]
    public void Frames_of_another_washer_are_refused()
    {
        var frame = Frames(Washers.Table(), "0 step=0").Single();
        Assert.Throws<ArgumentException>(() => new Segmenter(Washers.Table()).Accept(frame with { Washer = "w2" }));
    }
}
