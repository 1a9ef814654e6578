using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Protocols.Modbus;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Truth;

namespace WashBridge.Simulator.Tests;

public sealed class DemoScenarioTests(ITestOutputHelper output)
{
    private static readonly TimeSpan TenMinutes = TimeSpan.FromMinutes(10);

    [Fact]
    public void The_map_uses_catalogue_names_and_no_address_twice()
    {
        foreach (var washer in DemoScenario.Washers)
        {
            var taken = new HashSet<(ModbusTable, int, int)>();
            foreach (var register in washer.Map)
            {
                output.WriteLine($"{register.Signal,-40} {register.Signal.Unit,-7} {register.Point.Table,-16} {register.Point.Address,4} {register.Point.Type}"
                    + $"{(register.Point.Table == ModbusTable.HoldingRegisters && register.Point.Type == RegisterType.Bit ? " bit " + register.Point.BitNumber : "")}"
                    + $" x {register.Scale} group {register.Group} dead band {register.DeadBand}");
                var definition = SignalCatalogue.Find(register.Signal.Name);
                Assert.NotNull(definition);
                Assert.Equal(definition.Type, register.Signal.Type);
                var bit = register.Point.Type == RegisterType.Bit ? register.Point.BitNumber : -1;
                for (var i = 0; i < register.Width; i++)
                {
                    Assert.True(taken.Add((register.Point.Table, register.Point.Address + i, bit)), $"{register.Signal} overlaps");
                }
            }
        }
    }

    [Fact]
    public void The_first_cycles_are_good_and_end_within_two_hundred_seconds()
    {
        var (north, yard) = Run();
        foreach (var cycle in new[] { north[0], yard[0] })
        {
            Assert.Equal(TrueOutcome.Completed, cycle.Outcome);
            Assert.InRange(cycle.End!.Value.TotalSeconds, 100, 200);
            Assert.True(Hold(cycle).Held >= DemoScenario.SanitiserHold);
        }
    }

    [Fact]
    public void The_second_cycle_in_the_north_hall_cuts_the_hold_of_its_one_keg_short_and_the_third_does_not()
    {
        var (north, _) = Run();
        Assert.Equal(1, Assert.Single(north[1].Kegs).Station);
        Assert.Equal(21, Hold(north[1]).Held!.Value.TotalSeconds, 1);
        Assert.Equal(35, Hold(north[2]).Held!.Value.TotalSeconds, 1);
    }

    [Fact]
    public void The_connection_to_the_yard_drops_during_its_second_hold()
    {
        var washer = new SimulatedWasher(DemoScenario.Washers[1].Options);
        var down = new List<TimeSpan>();
        for (var t = TimeSpan.Zero; t < TenMinutes; t += TimeSpan.FromSeconds(1))
        {
            washer.AdvanceTo(t);
            if (!washer.Link.IsUp(t))
            {
                down.Add(t);
            }
        }

        var hold = Hold(washer.FinishedCycles.ElementAt(1));
        Assert.NotEmpty(down);
        Assert.All(down, t => Assert.InRange(t, hold.Start, hold.End!.Value));
    }

    [Fact]
    public void Station_one_in_the_north_hall_drains_more_slowly_in_every_cycle_until_it_is_cleaned()
    {
        var (north, _) = Run();
        var times = north.Select(CausticDrain).ToList();
        Assert.True(times.Count >= 3);
        Assert.All(times.Zip(times.Skip(1)), pair => Assert.True(pair.Second > pair.First + TimeSpan.FromSeconds(0.5)));

        var washer = new SimulatedWasher(DemoScenario.Washers[0].Options);
        washer.AdvanceTo(TimeSpan.FromHours(1));
        var later = washer.FinishedCycles.ToList();
        Assert.Contains(later.Take(9), c => c.Outcome == TrueOutcome.Faulted);
        Assert.Equal(TrueOutcome.Completed, later[10].Outcome);
        Assert.True(CausticDrain(later[10]) < times[2]);
    }

    private static TimeSpan CausticDrain(TrueCycle cycle)
    {
        var drain = cycle.Drains.Single(d => d is { Station: 1, Phase: "caustic-wash" });
        return (drain.Dry - drain.Start)!.Value;
    }

    private static TrueStep Hold(TrueCycle cycle) => cycle.Steps.Single(s => s is { Phase: "sanitise", Kind: StepKind.Hold });

    private static (List<TrueCycle> North, List<TrueCycle> Yard) Run()
    {
        var washers = DemoScenario.Washers.Select(w => new SimulatedWasher(w.Options)).ToList();
        foreach (var washer in washers)
        {
            washer.AdvanceTo(TenMinutes);
        }

        return ([.. washers[0].FinishedCycles], [.. washers[1].FinishedCycles]);
    }
}
