using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using static WashBridge.Core.Tests.Cycles.Script;

namespace WashBridge.Core.Tests.Cycles;

/// <summary>The gap limit is 3 s and the shortest cycle 60 s in these models.</summary>
public sealed class GapTests
{
    /// <summary>Brings a cycle to the hold of the sanitiser at 72 s, long after its start.</summary>
    private const string ToHold = """
        0 step=0
        1 step=11
        2
        4
        6
        8
        10
        12 step=12
        14
        16 step=31
        18
        20 step=32
        22
        24
        """;

    [Fact]
    public void The_same_step_before_and_after_a_gap_is_not_assumed_to_have_run_throughout()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table(), ToHold + """

            30
            32
            34
            35
            37 step=33
            39 step=41
            41 step=42
            43 step=0
            """));
        var hold = cycle.Phases[1].Passes[0].Steps[1];
        Assert.Equal(Seconds(4.99, 19.01), hold.Held); // watched 20.01-24 and 30.01-35
        Assert.Equal([new TimeBounds(Moment(24).Wall, Moment(30.01).Wall)], cycle.Gaps);
        Assert.Equal(CycleOutcome.Completed, cycle.Outcome);
    }

    [Fact]
    public void Failed_reads_within_the_gap_limit_only_widen_the_edge()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table(), ToHold + """

            25 fail
            26 fail
            26.5 step=33
            28 step=41
            30 step=42
            32 step=0
            """));
        Assert.Empty(cycle.Gaps);
        Assert.Equal(Edge(24, 26.51), cycle.Phases[1].Passes[0].Steps[1].End);
    }

    [Fact]
    public void A_bad_step_code_is_a_gap_like_a_failed_read()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table(), ToHold + """

            25 step=bad
            26
            27
            28
            29 step=33
            31 step=41
            33 step=42
            35 step=0
            """));
        Assert.Equal([new TimeBounds(Moment(24).Wall, Moment(29.01).Wall)], cycle.Gaps);
        Assert.Equal(Edge(24, 29.01), cycle.Phases[1].Passes[0].Steps[1].End);
    }

    [Fact]
    public void Steps_and_whole_phases_that_a_gap_can_hide_are_recorded_as_unseen()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table(), """
            0 step=0
            1 step=11
            3
            5
            7
            9
            11 step=12
            12
            18 step=32
            19 step=33
            20 step=41
            21 step=42
            22 step=0
            """));
        Assert.Equal(["rinse", "caustic", "sanitise", "purge"], cycle.Phases.Select(p => p.Id));
        Assert.All(cycle.Phases[1].Passes[0].Steps, s => Assert.Equal((false, Edge(12, 18.01), Edge(12, 18.01)), (s.Seen, s.Start, s.End)));
        Assert.Equal([false, true, true], cycle.Phases[2].Passes[0].Steps.Select(s => s.Seen));
    }

    [Fact]
    public void After_a_gap_longer_than_the_shortest_cycle_two_cycles_are_not_joined()
    {
        var cycles = CyclesOf(Washers.Table(), ToHold + """

            90 full step=32
            91 step=33
            92 step=41
            93 step=42
            94 step=0
            """);
        Assert.Equal([CycleOutcome.EndUnseen, CycleOutcome.Completed], cycles.Select(c => c.Outcome));
        Assert.Equal([false, true], cycles.Select(c => c.StartUnseen));
        var left = cycles[0].Phases[^1].Passes[0].Steps[^1];
        Assert.Equal(TimeSpan.MaxValue, left.Held.Upper); // it may run still
        Assert.Equal(TimeSpan.FromSeconds(3.99), left.Held.Lower);
        var found = cycles[1].Phases[0].Passes[0].Steps[0];
        Assert.Equal(Edge(18, 90.01), found.Start); // or it may be the same one
    }

    [Fact]
    public void An_earlier_place_after_a_gap_proves_another_cycle_so_that_both_are_bounded()
    {
        var cycles = CyclesOf(Washers.Table(), ToHold + """

            40 step=21
            41 step=22
            42 step=0
            """);
        Assert.Equal([CycleOutcome.EndUnseen, CycleOutcome.Aborted], cycles.Select(c => c.Outcome));
        Assert.Equal(Edge(24, 40.01), cycles[0].End);
        Assert.Equal(Edge(24, 40.01), cycles[1].Start);
        Assert.True(cycles[1].StartUnseen);
        Assert.Equal([("rinse", false), ("rinse", false), ("caustic", true), ("caustic", true)], cycles[1].Phases.SelectMany(p => p.Passes[0].Steps.Select(s => (p.Id, s.Seen))));
    }

    [Fact]
    public void A_cycle_counter_that_moved_in_a_gap_parts_the_cycles()
    {
        var script = ToHold.Replace("0 step=0\n", "0 step=0 count=7\n") + """

            30 count=8
            31 step=33
            32 step=0
            """;
        var cycles = CyclesOf(Washers.Table("sequence.cycle-count"), script);
        Assert.Equal([CycleOutcome.EndUnseen, CycleOutcome.Aborted], cycles.Select(c => c.Outcome));
        Assert.Equal([7, 8], cycles.Select(c => c.CycleCount));
    }

    [Fact]
    public void A_gap_in_which_a_new_cycle_could_have_come_as_far_parts_the_cycles()
    {
        var cycles = CyclesOf(Washers.Table(), """
            0 step=0
            1 step=11
            3 step=12
            9
            10 step=31
            11 step=0
            """);
        Assert.Equal([CycleOutcome.EndUnseen, CycleOutcome.Aborted], cycles.Select(c => c.Outcome));
    }

    [Fact]
    public void A_gap_in_the_first_step_widens_the_start_and_counts_for_nothing_before_it()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table(), """
            0 step=0
            1 step=11
            3
            6
            12
            13 step=12
            14 step=41
            15 step=42
            16 step=0
            """));
        Assert.Equal(Edge(0, 12.01), cycle.Start);
        var spray = cycle.Phases[0].Passes[0].Steps[0];
        Assert.Equal(Edge(0, 12.01), spray.Start);
        Assert.Equal(Seconds(0, 13.01), spray.Held);
    }

    [Fact]
    public void Watching_that_begins_in_mid_cycle_leaves_the_start_open()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table(), """
            5 step=32
            6
            8 step=33
            9 step=41
            10 step=42
            11 step=0
            """));
        Assert.True(cycle.StartUnseen);
        Assert.Equal(CycleOutcome.Completed, cycle.Outcome);
        var hold = cycle.Phases[0].Passes[0].Steps[0];
        Assert.Equal(new DurationBounds(TimeSpan.FromSeconds(0.99), TimeSpan.MaxValue), hold.Held);
        Assert.Equal(TimeSpan.MaxValue, cycle.Start.Until(cycle.End).Upper);
        Assert.Single(cycle.Phases[0].Passes[0].Steps, s => s.Kind == StepKind.Hold);
    }

    [Fact]
    public void A_cycle_whose_end_a_gap_covers_ended_unseen()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table(), ToHold + """

            30 step=0
            32
            34
            """));
        Assert.Equal(CycleOutcome.EndUnseen, cycle.Outcome);
        Assert.Equal(Edge(24, 30.01), cycle.End);
        Assert.Equal([("sanitise", StepKind.Drain), ("purge", StepKind.Pressurise), ("purge", StepKind.Vent)], cycle.Phases.SelectMany(p => p.Passes[0].Steps.Where(s => !s.Seen).Select(s => (p.Id, s.Kind))));
    }

    [Fact]
    public void Idle_that_a_booting_controller_shows_before_it_goes_on_ends_nothing()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table(), ToHold + """

            25 fail
            30 full step=0
            31
            32 step=32
            33 step=33
            34 step=41
            35 step=42
            36 step=0
            """));
        Assert.Equal(CycleOutcome.Completed, cycle.Outcome);
        Assert.Equal([new TimeBounds(Moment(24).Wall, Moment(32.01).Wall)], cycle.Gaps);
    }

    [Fact]
    public void After_idle_in_doubt_any_other_step_may_be_of_another_cycle()
    {
        var cycles = CyclesOf(Washers.Table(), ToHold + """

            25 fail
            30 full step=0
            31
            32 step=33
            33 step=41
            34 step=42
            35 step=0
            """);
        Assert.Equal([CycleOutcome.EndUnseen, CycleOutcome.Completed], cycles.Select(c => c.Outcome));
        Assert.True(cycles[1].StartUnseen);
    }

    [Fact]
    public void Idle_in_doubt_is_believed_when_what_follows_must_be_another_cycle()
    {
        var cycles = CyclesOf(Washers.Table(), ToHold + """

            25 fail
            30 full step=0
            31
            32 step=11
            33 step=0
            """);
        Assert.Equal((CycleOutcome.EndUnseen, Edge(24, 30.01)), (cycles[0].Outcome, cycles[0].End));
        Assert.Equal((false, Edge(31, 32.01)), (cycles[1].StartUnseen, cycles[1].Start));
    }

    [Fact]
    public void A_cycle_that_began_in_a_gap_after_idle_has_a_bounded_start_that_nobody_saw()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table(), """
            0 step=0
            20 step=21
            21 step=0
            """));
        Assert.True(cycle.StartUnseen);
        Assert.Equal(Edge(0, 20.01), cycle.Start);
        Assert.Equal([("rinse", false), ("caustic", true)], cycle.Phases.Select(p => (p.Id, p.Passes[0].Steps[0].Seen)));
    }
}
