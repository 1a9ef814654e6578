using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using static WashBridge.Core.Tests.Cycles.Script;

namespace WashBridge.Core.Tests.Cycles;

public sealed class DrainTests
{
    [Fact]
    public void A_drain_ends_between_the_last_wet_look_and_the_first_dry_one()
    {
        var drain = Drain("drain.dry1", """
            0 step=0 dry1=1
            1 step=11 dry1=0
            2 step=12
            3
            4 dry1=1
            5
            6 step=0
            """);
        Assert.Equal(Edge(1, 2.01), drain.Start);
        Assert.Equal(Edge(3, 4.01), drain.Dry);
        Assert.Equal(Seconds(0.99, 3.01), drain.Time);
        Assert.Equal(("rinse", 1, false), (drain.Phase, drain.Pass, drain.Shared));
    }

    [Fact]
    public void A_faster_group_gives_a_narrower_edge()
    {
        var drain = Drain("drain.dry1", """
            0 step=0
            0.1 g1 dry1=0
            1 step=11
            1.1 g1
            2 step=12
            2.1 g1
            2.2 g1
            2.3 g1 dry1=1
            3 step=0
            """);
        Assert.Equal(Edge(2.2, 2.31), drain.Dry);
        Assert.Equal(Seconds(0.19, 1.31), drain.Time);
    }

    [Fact]
    public void A_sensor_that_is_dry_at_the_first_look_gives_a_time_from_zero_to_that_look()
    {
        var drain = Drain("drain.dry1", """
            0 step=0 dry1=1
            1 step=11
            2 step=12
            3
            4 step=0
            """);
        Assert.Equal(Edge(1, 3.01), drain.Dry);
        Assert.Equal(Seconds(0, 2.01), drain.Time);
    }

    [Fact]
    public void A_wavering_sensor_widens_the_edge_over_all_its_turns()
    {
        var drain = Drain("drain.dry1", """
            0 step=0 dry1=0
            1 step=11
            2 step=12
            3
            4 dry1=1
            5 dry1=0
            6 dry1=1
            7
            8 step=0
            """);
        Assert.Equal(Edge(3, 6.01), drain.Dry);
    }

    [Fact]
    public void A_drain_that_never_reads_dry_lasted_at_least_until_it_was_last_seen_wet()
    {
        var drain = Drain("drain.dry1", """
            0 step=0 dry1=0
            1 step=11
            2 step=12
            3
            4
            5 step=0
            """);
        Assert.Null(drain.Dry);
        Assert.Equal(new DurationBounds(Span(0.99), TimeSpan.MaxValue), drain.Time); // surely in the step: the look at 3
    }

    [Fact]
    public void A_drain_that_ends_wet_again_was_not_dry()
    {
        var drain = Drain("drain.dry1", """
            0 step=0 dry1=0
            1 step=11
            2 step=12
            3
            4 dry1=1
            5 dry1=0
            6 step=0
            """);
        Assert.Null(drain.Dry);
        Assert.Equal(new DurationBounds(Span(0.99), TimeSpan.MaxValue), drain.Time);
    }

    [Fact]
    public void Dry_and_the_next_step_in_one_read_belong_to_the_drain()
    {
        var drain = Drain("drain.dry1", """
            0 step=0 dry1=0
            1 step=11
            2 step=12
            3
            4 step=21 dry1=1
            5 step=0
            """);
        Assert.Equal(Edge(3, 4.01), drain.Dry);
    }

    [Fact]
    public void A_sensor_that_could_not_be_read_in_the_step_is_missing_not_zero()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table("drain.dry1"), """
            0 step=0 dry1=0
            1 step=11
            2 step=12 dry1=bad
            3
            4 step=21
            5 dry1=1
            6 step=0
            """));
        Assert.Empty(cycle.Stations[0].Drains);
    }

    [Fact]
    public void A_sensor_that_was_lost_for_a_while_widens_the_edge_to_its_good_looks()
    {
        var drain = Drain("drain.dry1", """
            0 step=0 dry1=0
            1 step=11
            2 step=12
            3
            4 dry1=bad
            5
            6 dry1=1
            7 step=0
            """);
        Assert.Equal(Edge(3, 6.01), drain.Dry);
    }

    [Fact]
    public void Wet_again_after_the_drain_was_last_seen_to_run_is_the_next_steps_business()
    {
        var drain = Drain("drain.dry1", """
            0 step=0
            0.1 g1 dry1=0
            1 step=11
            2 step=12
            2.5 g1
            3 g1 dry1=1
            3.5
            3.6 g1 dry1=0
            4 step=21
            5 step=0
            """);
        Assert.Equal(Edge(2.5, 3.01), drain.Dry);
    }

    [Fact]
    public void Dry_after_the_position_was_lost_is_not_taken_for_this_drain()
    {
        var cycles = CyclesOf(Washers.Table("drain.dry1"), """
            0 step=0
            0.1 g1 dry1=0
            1 step=11
            2 step=12
            2.5 g1
            3
            50 g1 dry1=1
            80 step=12
            81 step=0
            """);
        Assert.Null(cycles[0].Stations[0].Drains.Single().Dry);
    }

    [Fact]
    public void A_drain_that_goes_on_after_a_gap_turned_dry_at_some_time_within_it()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table("drain.dry1"), """
            0 step=0 dry1=0
            1 step=11
            3
            5
            7 step=21
            8 step=22
            9
            10
            14 full step=22 dry1=1
            15 step=0
            """));
        Assert.Equal(Edge(9, 14.01), cycle.Stations[0].Drains.Single().Dry);
    }

    [Fact]
    public void Wet_before_and_after_a_gap_can_be_two_drains()
    {
        var cycle = Assert.Single(CyclesOf(Washers.Table("drain.dry1"), """
            0 step=0 dry1=0
            1 step=11
            3
            5
            7 step=21
            8 step=22
            9
            10
            14
            15 dry1=1
            16
            17 step=0
            """));
        Assert.Equal(Edge(9, 15.01), cycle.Stations[0].Drains.Single().Dry);
    }

    [Fact]
    public void One_sensor_of_the_washer_serves_every_station()
    {
        var events = Fold(Washers.Table("drain.dry"), """
            0 step=0 dry=0
            1 step=11
            2 step=12
            3 dry=1
            4 step=0
            """);
        Assert.Equal([1, 2], events.OfType<DrainMeasured>().Select(e => e.Station));
        Assert.All(events.OfType<DrainMeasured>(), e => Assert.True(e.Drain.Shared));
        Assert.Equal(events.Count, events.Select(e => e.Id).Distinct().Count());
        Assert.All(Assert.IsType<CycleEnded>(events[^1]).Cycle.Stations, s => Assert.Single(s.Drains));
    }

    [Fact]
    public void Each_station_is_measured_by_its_own_sensor()
    {
        var events = Fold(Washers.Table("drain.dry1", "drain.dry2"), """
            0 step=0 dry1=0 dry2=0
            1 step=11
            2 step=12
            3 dry1=1
            4
            5 dry2=1
            6 step=0
            """);
        Assert.Equal([(1, Edge(2, 3.01)), (2, Edge(4, 5.01))], events.OfType<DrainMeasured>().Select(e => (e.Station, e.Drain.Dry!.Value)));
    }

    private static DrainRecord Drain(string sensor, string script) => Assert.Single(CyclesOf(Washers.Table(sensor), script)).Stations[0].Drains.Single();
}
