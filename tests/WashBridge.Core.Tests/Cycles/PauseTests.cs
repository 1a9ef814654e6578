using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using static WashBridge.Core.Tests.Cycles.Script;

namespace WashBridge.Core.Tests.Cycles;

public sealed class PauseTests
{
    [Theory]
    [InlineData("paused=1", "paused=0")]
    [InlineData("step=90", "step=32")]
    public void A_pause_is_no_part_of_what_was_held_but_leaves_the_edges_alone(string pause, string resume)
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table("sequence.paused"), $"""
            0 step=0 paused=0
            1 step=31
            2 step=32
            4
            5 {pause}
            7
            9
            10 {resume}
            12
            13
            14 step=33
            15 step=41
            16 step=42
            17 step=0
            """));
        var hold = cycle.Phases[0].Passes[0].Steps[1];
        Assert.Equal(Edge(1, 2.01), hold.Start);
        Assert.Equal(Edge(13, 14.01), hold.End);
        Assert.Equal(Seconds(2.99, 13.01 - 3.99), hold.Held); // 10.01 to 13 is the longest stretch; watched paused from 5.01 to 9
        var paused = Assert.Single(cycle.Pauses);
        Assert.Equal((Edge(4, 5.01), Edge(9, 10.01), Seconds(3.99, 6.01)), (paused.Start, paused.End, paused.Duration));
        Assert.Equal(CycleOutcome.Completed, cycle.Outcome);
    }

    [Fact]
    public void A_step_that_was_left_just_before_a_pause_that_hides_the_place_can_have_ended_before_it()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table(), """
            0 step=0
            1 step=31
            2
            3 step=90
            5
            7
            8 step=32
            9 step=0
            """));
        Assert.Equal(Edge(2, 8.01), cycle.Phases[0].Passes[0].Steps[0].End);
        Assert.Equal(Edge(7, 8.01), Assert.Single(cycle.Pauses).End);
    }

    [Fact]
    public void A_pause_is_told_when_it_begins_and_when_it_ends()
    {
        var events = Fold(Washers.Table("sequence.paused"), """
            0 step=0 paused=0
            1 step=31
            2 paused=1
            3 paused=0
            4 step=32 paused=1
            5 step=32 paused=0
            """);
        Assert.Equal(
            ["pause-1/started", "pause-1/ended", "pause-2/started", "pause-2/ended"],
            events.Where(e => e is CyclePaused or CycleResumed).Select(e => e.Id.Split('/', 2)[1]));
    }

    [Fact]
    public void A_cycle_that_is_aborted_while_paused_keeps_the_pause_and_does_not_resume()
    {
        var events = Fold(Washers.Table("sequence.paused"), """
            0 step=0 paused=0
            1 step=31
            2 paused=1
            3
            4 step=0 paused=0
            """);
        Assert.DoesNotContain(events, e => e is CycleResumed);
        var cycle = Assert.IsType<CycleEnded>(events[^1]).Cycle;
        Assert.Equal(Seconds(0.99, 3.01), Assert.Single(cycle.Pauses).Duration);
        Assert.Equal(CycleOutcome.Aborted, cycle.Outcome);
    }

    [Fact]
    public void A_pause_before_and_after_a_gap_is_not_assumed_to_have_lasted()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table("sequence.paused"), """
            0 step=0 paused=0
            1 step=11
            3
            5
            7 step=12
            9 step=21 paused=1
            10
            11
            16
            17 paused=0
            18 step=0
            """));
        Assert.Equal(Seconds(1.99, 10.01), Assert.Single(cycle.Pauses).Duration); // 9.01 to 11
        Assert.Equal(Seconds(0, 11.01 - 1.99), cycle.Phases[1].Passes[0].Steps[0].Held);
    }

    [Fact]
    public void Paused_at_a_place_that_is_not_told_after_a_gap_is_no_reading()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table(), """
            0 step=0
            1 step=11
            3
            5
            7 step=12
            9 step=21
            13 step=90
            14 step=21
            16 step=0
            """));
        Assert.Empty(cycle.Pauses);
        Assert.Equal([new TimeBounds(Moment(9).Wall, Moment(14.01).Wall)], cycle.Gaps);
    }
}
