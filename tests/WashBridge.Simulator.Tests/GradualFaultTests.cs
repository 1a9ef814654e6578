using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Truth;

namespace WashBridge.Simulator.Tests;

/// <summary>What gets worse from cycle to cycle does so by the process promised, shows where it should, and is put right by maintenance.</summary>
public sealed class GradualFaultTests
{
    [Theory]
    [InlineData(WearPath.Wiener)]
    [InlineData(WearPath.Gamma)]
    public void A_degradation_has_the_mean_and_the_spread_of_its_process(WearPath path)
    {
        var degradation = new Degradation(
            new PumpWear { When = When.At(TimeSpan.Zero), PerCycle = 0.002, Spread = 0.004, Path = path },
            DeterministicRandom.Stream(5, "test"));
        var changes = Enumerable.Range(0, 200_000).Select(_ => degradation.NextCycle()).ToList();

        // Standard errors are below 0.5 % of the mean and of the spread (2 % for the gamma's, whose tails are long).
        var mean = changes.Average();
        Assert.InRange(mean / 0.002, 0.98, 1.02);
        Assert.InRange(Math.Sqrt(changes.Average(c => (c - mean) * (c - mean))) / 0.004, 0.96, 1.04);
        Assert.Equal(path == WearPath.Gamma, changes.TrueForAll(c => c >= 0));
    }

    [Fact]
    public void Two_degradations_of_one_washer_do_not_move_alike()
    {
        var health = Run(
            2,
            new DrainClogging { When = When.InCycle(1), Station = 1, PerCycle = 0.01, Spread = 0.02 },
            new DrainClogging { When = When.InCycle(1), Station = 2, PerCycle = 0.01, Spread = 0.02 }).Select(c => c.Health!).ToList();
        Assert.NotEqual(health[^1].Stations[0].Clogging, health[^1].Stations[1].Clogging);
    }

    [Fact]
    public void Clogging_as_resistance_adds_the_same_to_the_drain_time_with_each_unit()
    {
        var health = Run(1, new DrainClogging { When = When.InCycle(1), Station = 1, PerCycle = 0.1, AsResistance = true }).Select(c => c.Health!).ToList();
        for (var i = 0; i < health.Count; i++)
        {
            Assert.Equal(1 + (0.1 * i), 1 / (1 - health[i].Stations[0].Clogging), 9);
        }
    }

    [Fact]
    public void A_sticking_sensor_adds_its_delay_to_every_drain_however_much_was_in_the_keg()
    {
        var cycles = Run(2, new DrainSensorSticking { When = When.InCycle(3), Station = 1, Initial = 4 });
        var before = cycles.Where(c => c.Number is 1 or 2).ToList();
        var after = cycles.Where(c => c.Number > 3).ToList();
        foreach (var phase in new[] { "rinse", "caustic-wash", "sanitise" })
        {
            Assert.InRange(Drain(after, phase, 1) - Drain(before, phase, 1), 3, 5.2);
            Assert.InRange(Drain(after, phase, 2) - Drain(before, phase, 2), -0.5, 0.5);
        }

        // The keg itself is empty as soon as ever.
        Assert.InRange(Emptied(after, 1) - Emptied(before, 1), -0.4, 0.4);
        var waits = after.SelectMany(c => c.Drains).Where(d => d is { Station: 1, Emptied: not null }).Select(d => (d.Dry - d.Emptied)!.Value.TotalSeconds).ToList();
        Assert.True(waits.Max() - waits.Min() > 1.5, "every drain should have a delay of its own");
    }

    [Fact]
    public void Little_air_slows_every_drain_and_shows_in_its_pressure()
    {
        var cycles = Run(2, new AirFalling { When = When.InCycle(3), Initial = 3.6 });
        foreach (var station in new[] { 1, 2 })
        {
            Assert.True(Drain(cycles.Where(c => c.Number > 3), "caustic-wash", station) > 1.15 * Drain(cycles.Where(c => c.Number < 3), "caustic-wash", station));
        }

        Assert.Equal(3.4, cycles[^1].Health!.AirBar, 9);
        Assert.True(cycles[^1].Health!.AssistBar < cycles[0].Health!.AssistBar - 0.1);
    }

    [Fact]
    public void CO2_that_falls_leaves_more_oxygen_until_the_bottle_is_changed()
    {
        var cycles = Run(
            4,
            new Co2Falling { When = When.InCycle(2), PerCycle = 0.1 },
            new Co2BottleChanged { When = When.InCycle(12), ForGood = true });
        Assert.Equal(3.2 - 0.9, cycles[10].Health!.Co2Bar, 9);
        Assert.True(cycles[10].Kegs[0].Oxygen > 1.5 * cycles[0].Kegs[0].Oxygen);
        Assert.Equal(3.2, cycles[^1].Health!.Co2Bar, 9);
        Assert.InRange(cycles[^1].Kegs[0].Oxygen!.Value / cycles[0].Kegs[0].Oxygen!.Value, 0.8, 1.25);
    }

    [Fact]
    public void A_tired_dosing_tube_makes_the_pump_run_longer_for_the_same_strength()
    {
        var (tired, tiredStrength) = DosingSeconds(new DosingTubeWear { When = When.At(TimeSpan.Zero), Bath = BathKind.Caustic, Initial = 0.5 });
        var (fresh, freshStrength) = DosingSeconds();
        Assert.InRange(tired / fresh, 1.7, 2.3);
        Assert.InRange(tiredStrength / freshStrength, 0.97, 1.03);
    }

    [Fact]
    public void A_leaking_check_valve_delays_what_is_dosed_by_what_has_drained_back()
    {
        var bath = new Physics.Bath(new Physics.BathOptions(BathKind.Acid, 60, 0.8, 20, 0, true), new Physics.PlantOptions()) { CheckValveLeak = 0.5 };
        Stand(bath, 1000);
        Assert.Equal(0.5, bath.LineEmpty, 9);
        var before = bath.StrengthPercent;
        bath.DosingOn = true;
        Run(19.5);
        Assert.Equal(before, bath.StrengthPercent, 12);
        Run(2);
        Assert.True(bath.StrengthPercent > before);
        Assert.Equal(0, bath.LineEmpty, 9);
        bath.DosingOn = false;
        Stand(bath, 3000);
        Assert.Equal(1, bath.LineEmpty, 9);

        static void Stand(Physics.Bath bath, double seconds)
        {
            for (var t = 0.0; t < seconds; t += 0.5)
            {
                bath.Step(19, 14, 0.5);
            }
        }

        void Run(double seconds) => Stand(bath, seconds);
    }

    [Fact]
    public void An_oxidiser_that_stands_in_the_line_ages_its_check_valve_by_the_hour()
    {
        var cycles = Run(4, new DosingCheckValveLeak { When = When.InCycle(1), Bath = BathKind.Sanitiser, PerStandingHour = 0.2 });
        var (first, last) = (cycles[0], cycles[^1]);
        var hours = (last.Start - first.Start).TotalHours;
        var aged = last.Health!.Baths.Single(b => b.Bath == BathKind.Sanitiser).CheckValveLeak - first.Health!.Baths.Single(b => b.Bath == BathKind.Sanitiser).CheckValveLeak;

        // Not quite all of the time: the pump runs now and then.
        Assert.InRange(aged, 0.9 * 0.2 * hours, 0.2 * hours);
    }

    /// <summary>It once aged at its start by all the hours that the washer had run before.</summary>
    [Fact]
    public void A_check_valve_ages_only_from_the_time_at_which_its_ageing_begins()
    {
        var cycles = Run(4, new DosingCheckValveLeak { When = When.InCycle(50), Bath = BathKind.Sanitiser, PerStandingHour = 0.2 });
        var aged = cycles.Single(c => c.Number == 51).Health!.Baths.Single(b => b.Bath == BathKind.Sanitiser).CheckValveLeak;
        Assert.InRange(aged, 0.001, 0.2 * 300 / 3600);
    }

    [Fact]
    public void A_scaled_heater_runs_longer_and_at_last_cannot_hold_the_temperature()
    {
        var half = HeaterSeconds(0.35);
        var fresh = HeaterSeconds(0);
        Assert.True(half.Seconds > 1.3 * fresh.Seconds, $"{half.Seconds} s, {fresh.Seconds} s");
        Assert.InRange(half.Cel, fresh.Cel - 1, fresh.Cel + 1);
        Assert.True(HeaterSeconds(0.85).Cel < fresh.Cel - 5);
    }

    [Fact]
    public void Without_dosing_a_bath_only_gets_weaker_until_it_is_renewed()
    {
        var cycles = Run(
            4,
            new DosingSwitched { When = When.InCycle(2), Bath = BathKind.Acid, Automatic = false },
            new BathRenewed { When = When.InCycle(50), Bath = BathKind.Acid });
        var strength = cycles.Select(c => c.Health!.Baths.Single(b => b.Bath == BathKind.Acid).StrengthPercent).ToList();
        Assert.True(strength[48] < 0.9 * strength[0], $"{strength[48]} %, {strength[0]} %");
        Assert.All(strength.Skip(2).Take(46).Zip(strength.Skip(3)), pair => Assert.True(pair.Second < pair.First));

        // Less what the first cycle's rinse water thins it.
        Assert.InRange(strength[49], 0.75, 0.8);
    }

    [Fact]
    public void Maintenance_makes_each_part_new_and_only_for_good_ends_what_wore_it()
    {
        Fault[] worn =
        [
            new DrainClogging { When = When.InCycle(1), Station = 2, PerCycle = 0.02 },
            new DrainSensorSticking { When = When.InCycle(1), Station = 2, PerCycle = 0.05 },
            new PumpWear { When = When.InCycle(1), PerCycle = 0.01 },
            new AirFalling { When = When.InCycle(1), PerCycle = 0.05 },
            new Co2Falling { When = When.InCycle(1), PerCycle = 0.02 },
            new DosingTubeWear { When = When.InCycle(1), Bath = BathKind.Caustic, PerCycle = 0.02 },
            new DosingCheckValveLeak { When = When.InCycle(1), Bath = BathKind.Caustic, PerCycle = 0.02 },
            new HeaterScaling { When = When.InCycle(1), Bath = BathKind.Caustic, PerCycle = 0.02 },
        ];
        Maintenance[] Work(int cycle, bool forGood) =>
        [
            new DrainCleaned { When = When.InCycle(cycle), Station = 2, ForGood = forGood },
            new DrainSensorReplaced { When = When.InCycle(cycle), Station = 2, ForGood = forGood },
            new PumpReplaced { When = When.InCycle(cycle), ForGood = forGood },
            new AirRestored { When = When.InCycle(cycle), ForGood = forGood },
            new Co2BottleChanged { When = When.InCycle(cycle), ForGood = forGood },
            new DosingTubeReplaced { When = When.InCycle(cycle), Bath = BathKind.Caustic, ForGood = forGood },
            new DosingCheckValveReplaced { When = When.InCycle(cycle), Bath = BathKind.Caustic, ForGood = forGood },
            new HeaterDescaled { When = When.InCycle(cycle), Bath = BathKind.Caustic, ForGood = forGood },
        ];
        var health = Run(2, [.. worn, .. Work(10, false), .. Work(20, true)]).Select(c => Wear(c.Health!)).ToList();
        var none = health[0];
        for (var part = 0; part < worn.Length; part++)
        {
            Assert.True(health[8][part] > none[part] + 0.05, worn[part].GetType().Name);
            Assert.Equal(none[part], health[9][part], 9);
            Assert.True(health[18][part] > none[part] + 0.05, worn[part].GetType().Name);
            Assert.All(health.Skip(19), h => Assert.Equal(none[part], h[part], 9));
        }

        static double[] Wear(TrueHealth health) =>
        [
            health.Stations[1].Clogging, health.Stations[1].StickingSeconds, health.PumpWear, -health.AirBar, -health.Co2Bar,
            -health.Baths[0].DosingShare, health.Baths[0].CheckValveLeak, -health.Baths[0].HeaterShare,
        ];
    }

    [Fact]
    public void A_fault_scheduled_while_the_washer_runs_is_as_one_known_from_the_start()
    {
        var known = Washer(new DrainClogging { When = When.InCycle(4), Station = 1, Initial = 0.4 });
        known.AdvanceTo(TimeSpan.FromMinutes(30));
        var later = Washer();
        later.AdvanceTo(TimeSpan.FromMinutes(5));
        later.Schedule(new DrainClogging { When = When.InCycle(4), Station = 1, Initial = 0.4 });
        later.AdvanceTo(TimeSpan.FromMinutes(30));
        Assert.Equal(known.FinishedCycles.Select(c => c.End), later.FinishedCycles.Select(c => c.End));
        Assert.Equal(0.4, later.FinishedCycles.Last().Health!.Stations[0].Clogging, 9);
    }

    [Fact]
    public void Without_noise_every_cycle_is_like_the_one_before_and_with_it_none_is()
    {
        double[] Delivered(double noise)
        {
            var washer = new SimulatedWasher(new WasherOptions { Id = "w1", Seed = 3, Plant = new() { Noise = noise } });
            washer.AdvanceTo(TimeSpan.FromHours(2));
            return [.. washer.FinishedCycles.Select(c => c.Drains.First(d => d is { Station: 1, Phase: "rinse" }).LitresAtStart)];
        }

        var noisy = Delivered(1);
        Assert.InRange(Deviation(noisy) / noisy.Average(), 0.002, 0.05);
        Assert.Equal(0, Deviation(Delivered(0)), 6);

        static double Deviation(double[] values)
        {
            var mean = values.Average();
            return Math.Sqrt(values.Average(v => (v - mean) * (v - mean)));
        }
    }

    private static double Drain(IEnumerable<TrueCycle> cycles, string phase, int station) =>
        cycles.SelectMany(c => c.Drains).Where(d => d.Phase == phase && d.Station == station).Average(d => (d.Dry - d.Start)!.Value.TotalSeconds);

    private static double Emptied(IEnumerable<TrueCycle> cycles, int station) =>
        cycles.SelectMany(c => c.Drains).Where(d => d.Phase == "caustic-wash" && d.Station == station).Average(d => (d.Emptied - d.Start)!.Value.TotalSeconds);

    private static (double Seconds, double Strength) DosingSeconds(params Fault[] faults)
    {
        var washer = Washer(faults);
        var seconds = 0;
        for (var t = 1; t < 8 * 3600; t++)
        {
            washer.AdvanceTo(TimeSpan.FromSeconds(t));
            seconds += washer.Plant.Bath(BathKind.Caustic)!.DosingOn ? 1 : 0;
        }

        return (seconds, washer.Plant.Bath(BathKind.Caustic)!.StrengthPercent);
    }

    private static (double Seconds, double Cel) HeaterSeconds(double lost)
    {
        var washer = Washer(new HeaterScaling { When = When.At(TimeSpan.Zero), Bath = BathKind.Caustic, Initial = lost });
        var (seconds, cel) = (0, 0.0);
        for (var t = 1; t < 4 * 3600; t++)
        {
            washer.AdvanceTo(TimeSpan.FromSeconds(t));
            seconds += washer.Plant.Bath(BathKind.Caustic)!.HeaterOn ? 1 : 0;
            cel += washer.Plant.Bath(BathKind.Caustic)!.Cel;
        }

        return (seconds, cel / (4 * 3600));
    }

    private static List<TrueCycle> Run(int hours, params Fault[] faults)
    {
        var washer = Washer(faults);
        washer.AdvanceTo(TimeSpan.FromHours(hours));
        return [.. washer.FinishedCycles];
    }

    private static SimulatedWasher Washer(params Fault[] faults) => new(new WasherOptions { Id = "w1", Seed = 11, Faults = faults });
}
