using WashBridge.Core.Cycles;
using static WashBridge.Core.Tests.Cycles.Script;

namespace WashBridge.Core.Tests.Cycles;

public sealed class KegAndSetpointTests
{
    [Fact]
    public void A_keg_has_the_last_id_read_within_its_cycle_and_not_that_of_the_next()
    {
        var cycles = CyclesOf(Washers.Table("keg.id1", "keg.present1"), """
            0 step=0 id1=A keg1=1
            1 step=41
            2 step=42 id1=B
            3 step=0 id1=C keg1=0
            4 step=41
            5 step=0
            """);
        Assert.Equal([("B", true), ("C", false)], cycles.Select(c => (c.Stations[0].KegTag!, c.Stations[0].KegPresent!.Value)));
        Assert.All(cycles, c => Assert.Equal((null, null), (c.Stations[1].KegTag, c.Stations[1].KegPresent)));
    }

    [Fact]
    public void An_id_of_a_group_that_cannot_be_read_is_not_taken_over_into_the_next_cycle()
    {
        var cycles = CyclesOf(Washers.Table("keg.id1"), """
            0 step=0
            0.1 g1 id1=A
            1 step=41
            2 step=0
            2.1 g1 fail
            3 step=41
            4 step=0
            """);
        Assert.Equal(["A", null], cycles.Select(c => c.Stations[0].KegTag));
    }

    [Fact]
    public void An_id_that_is_read_while_the_position_is_unknown_is_not_given_to_the_cycle_before()
    {
        var cycles = CyclesOf(Washers.Table("keg.id1"), """
            0 step=0
            0.1 g1 id1=A
            1 step=41
            1.1 g1
            100 g1 id1=B
            101 step=41
            102 step=0
            """);
        Assert.Equal(["A", "B"], cycles.Select(c => c.Stations[0].KegTag));
    }

    [Fact]
    public void Setpoints_are_those_at_the_start_and_a_change_is_told()
    {
        var events = Fold(Washers.Table("setpoint.sanitise.hold"), """
            0 step=0 hold=30
            1 step=41
            2 hold=25
            3 step=0
            4 hold=bad
            5 hold=20
            6 step=41
            7 step=0
            """);
        Assert.Equal([30, 20], events.OfType<CycleEnded>().Select(e => e.Cycle.Setpoints["setpoint.sanitise.hold"]));
        var changes = events.OfType<SetpointChanged>().ToList();
        Assert.Equal([(30.0, 25.0), (25.0, 20.0)], changes.Select(c => (c.OldValue, c.NewValue)));
        Assert.Equal([Edge(1, 2.01).Wall, Edge(3, 5.01).Wall], changes.Select(c => c.At));
        Assert.Equal([events.OfType<CycleStarted>().First().CycleId, null], changes.Select(c => c.CycleId));
    }
}
