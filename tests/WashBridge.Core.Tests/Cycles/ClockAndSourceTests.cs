using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using static WashBridge.Core.Tests.Cycles.Script;

namespace WashBridge.Core.Tests.Cycles;

public sealed class ClockAndSourceTests
{
    [Theory]
    [InlineData("+3600")]
    [InlineData("-3600")]
    [InlineData("0")]
    public void A_known_step_of_the_clock_changes_no_duration(string shift)
    {
        var events = Fold(Washers.Table(), $"""
            0 step=0
            1 step=31
            2 step=32
            3
            4 clock {shift}
            5
            6 step=33
            7 step=41
            8 step=42
            9 step=0
            """);
        var cycle = Assert.IsType<CycleEnded>(events[^1]).Cycle;
        Assert.Equal(Seconds(2.99, 5.01), cycle.Phases[0].Passes[0].Steps[1].Held);
        Assert.Empty(cycle.Gaps);
        Assert.Equal(Span(double.Parse(shift)), Assert.Single(events.OfType<ClockStepped>()).Shift);
    }

    [Fact]
    public void The_wall_bounds_of_an_edge_are_in_order_even_where_the_clock_was_set_back_inside_it()
    {
        var events = Fold(Washers.Table(), """
            0 step=0
            0.5 clock -100
            1 step=31
            """);
        var started = Assert.Single(events.OfType<CycleStarted>());
        Assert.Equal((Moment(1.01 - 100).Wall, Moment(0).Wall), (started.At.Earliest, started.At.Latest));
        Assert.Equal("w1-20310305T075821.010", started.CycleId);
    }

    [Fact]
    public void An_unknown_step_of_the_clock_in_mid_cycle_parts_it_and_opens_the_bounds_across()
    {
        var cycles = CyclesOf(Washers.Table(), """
            0 step=0
            1 step=11
            2 step=31
            3 step=32
            4
            5 clock ?
            6 full step=32
            7
            8 step=33
            9 step=41
            10 step=42
            11 step=0
            """);
        Assert.Equal([(CycleOutcome.EndUnseen, false), (CycleOutcome.Completed, true)], cycles.Select(c => (c.Outcome, c.StartUnseen)));
        var before = cycles[0].Phases[^1].Passes[0].Steps[^1].Held;
        var after = cycles[1].Phases[0].Passes[0].Steps[0].Held;
        Assert.Equal(new DurationBounds(Span(0.99), TimeSpan.MaxValue), before);
        Assert.Equal(new DurationBounds(Span(0.99), TimeSpan.MaxValue), after);
    }

    [Fact]
    public void Time_that_runs_backwards_untold_is_an_unknown_step()
    {
        var events = Fold(Washers.Table(), """
            0 step=0
            100 step=31
            50 step=32
            51 step=0
            """);
        Assert.Null(Assert.Single(events.OfType<ClockStepped>()).Shift);
        Assert.Equal(2, events.OfType<CycleEnded>().Count());
    }

    [Fact]
    public void A_lost_group_is_told_once_and_again_when_it_comes_back()
    {
        var events = Fold(Washers.Table("drain.dry1"), """
            0 step=0
            0.5 g1 dry1=1
            1
            1.5 g1 fail
            2 g1 fail
            3 g1
            4
            """);
        var lost = Assert.Single(events.OfType<SourceLost>());
        Assert.Equal((1, "no answer", Moment(0.5).Wall, Moment(1.51).Wall), (lost.Group, lost.Reason, lost.At.Earliest, lost.At.Latest));
        var restored = Assert.Single(events.OfType<SourceRestored>());
        Assert.Equal((1, Moment(0.5).Wall, Moment(3.01).Wall), (restored.Group, restored.Gap.Earliest, restored.Gap.Latest));
        Assert.Equal((Moment(2).Wall, Moment(3.01).Wall), (restored.At.Earliest, restored.At.Latest));
    }
}
