using WashBridge.Core.Cycles;
using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Programmes;
using WashBridge.Simulator.Truth;

namespace WashBridge.Simulator.Tests;

/// <summary>Each fault has its effect in the truth and in the signals.</summary>
public sealed class FaultTests
{
    private static readonly TimeSpan HalfHour = TimeSpan.FromMinutes(30);

    [Fact]
    public void A_washer_without_faults_runs_its_programme_again_and_again()
    {
        var washer = Run();
        Assert.InRange(washer.FinishedCycles.Count, 8, 10);
        Assert.All(washer.FinishedCycles, c =>
        {
            Assert.Equal(TrueOutcome.Completed, c.Outcome);
            Assert.Equal(InventedProgrammes.Full.Phases.Select(p => p.Id), c.Phases.Select(p => p.Id));
            Assert.Equal(3, c.Phases[^1].Passes.Count);
            Assert.Equal(2, c.Kegs.Count);
            Assert.All(c.Kegs, k => Assert.InRange(k.Oxygen!.Value, 0.001, 0.01));
            Assert.All(c.Kegs, k => Assert.InRange(k.Litres!.Value, 0.01, 0.2));
            Assert.All(c.Drains, d => Assert.True(d.Start <= d.FirstDry && d.FirstDry <= d.Dry && d.Dry < d.End));
        });
        Assert.Equal(washer.FinishedCycles.Count * 2, washer.FinishedCycles.SelectMany(c => c.Kegs).Select(k => k.Id).Distinct().Count());
    }

    [Fact]
    public void Steps_follow_one_another_without_a_gap_on_whole_scans()
    {
        foreach (var cycle in Run().FinishedCycles)
        {
            var steps = cycle.Steps.ToList();
            Assert.Equal(cycle.Start, steps[0].Start);
            Assert.Equal(cycle.End, steps[^1].End);
            Assert.All(steps.Zip(steps.Skip(1)), pair => Assert.Equal(pair.First.End, pair.Second.Start));
            Assert.All(steps, s => Assert.Equal(0, s.Start.Ticks % TimeSpan.FromMilliseconds(50).Ticks));
        }
    }

    [Fact]
    public void Purge_pressures_swing_and_the_oxygen_left_follows_from_them()
    {
        var washer = Washer();
        var keg = IndexOf(washer, "pressure.keg", 1);
        var ends = new List<(StepKind Kind, double Bar)>();
        var (lastStep, lastBar, co2) = (default(TrueStep), 0.0, new List<double>());
        Each(washer, TimeSpan.FromSeconds(190), washer.Options.Scan, () =>
        {
            var step = washer.CurrentCycle?.Steps.Last();
            if (lastStep is not null && !ReferenceEquals(step, lastStep))
            {
                ends.Add((lastStep.Kind, lastBar));
            }

            (lastStep, lastBar) = (step, washer.Read(keg).Number);
            co2.Add(Value(washer, "pressure.co2"));
        });

        // Evacuation, then three swings: each leaves of the old gas the pressure before over the pressure after.
        var swings = ends.Skip(1).Zip(ends).Where(p => p.First.Kind == StepKind.Pressurise).Select(p => (High: p.First.Bar, Low: p.Second.Bar)).ToList();
        Assert.Equal(4, swings.Count);
        Assert.All(swings, swing => Assert.InRange(swing.High, 2.9, 3.25));
        Assert.All(swings.Skip(2), swing => Assert.InRange(swing.Low, 1.0, 1.25));
        Assert.All(ends.TakeLast(1), last => Assert.InRange(last.Bar, 1.0, 1.25));
        var oxygen = swings.Aggregate(0.2095, (y, swing) => y * swing.Low / swing.High);
        Assert.InRange(washer.FinishedCycles.Single().Kegs[0].Oxygen!.Value / oxygen, 0.97, 1.06);
        Assert.True(co2.Max() - co2.Min() > 0.1, "the line does not sag");
    }

    [Fact]
    public void A_clogging_drain_takes_longer_at_its_station_only()
    {
        var cycles = Run(new DrainClogging { When = When.At(TimeSpan.Zero), Station = 2, PerCycle = 0.06 }).FinishedCycles.ToList();
        Assert.True(DrainSeconds(cycles[^1], 2) > DrainSeconds(cycles[0], 2) * 1.3);
        Assert.InRange(DrainSeconds(cycles[^1], 1) / DrainSeconds(cycles[0], 1), 0.9, 1.1);
        Assert.True(cycles[^1].Drains.Last(d => d.Station == 2).Clogging > 0.3);
    }

    [Fact]
    public void A_drain_blocked_for_good_ends_in_a_fault_at_the_time_out_and_the_washer_goes_on_after_it_is_acknowledged()
    {
        var washer = Washer(new DrainClogging { When = When.InCycle(2), Station = 1, Initial = 0.95 });
        var faults = Watch(washer, "sequence.fault");
        var cycle = washer.FinishedCycles.ElementAt(1);
        Assert.Equal(TrueOutcome.Faulted, cycle.Outcome);
        var last = cycle.Steps.Last();
        Assert.True(last.Interrupted);
        Assert.Equal(washer.Options.DrainTimeout, last.Held);
        Assert.Equal(cycle.End, faults[0].At);
        Assert.InRange((faults[1].At - faults[0].At).TotalSeconds, 19.9, 20.1);
        Assert.True(washer.FinishedCycles.Count > 5);
    }

    [Fact]
    public void A_drain_sensor_stuck_wet_ends_in_a_fault_although_the_keg_is_empty()
    {
        var cycle = Run(new DrainSensorStuck { When = When.InCycle(1), Station = 1, ReadsDry = false, Duration = TimeSpan.FromMinutes(2) }).FinishedCycles.First();
        Assert.Equal(TrueOutcome.Faulted, cycle.Outcome);
        var drain = cycle.Drains.Last(d => d.Station == 1);
        Assert.Null(drain.Dry);
        Assert.NotNull(drain.Emptied);
    }

    [Fact]
    public void A_drain_sensor_stuck_dry_ends_drains_early_and_leaves_liquid_behind()
    {
        var cycles = Run(new DrainSensorStuck { When = When.InCycle(2), Station = 0, ReadsDry = true, Duration = TimeSpan.FromMinutes(2) }).FinishedCycles.ToList();
        var drain = cycles[1].Drains[0];
        Assert.Equal(drain.Start, drain.Dry);
        Assert.Null(drain.Emptied);
        Assert.InRange((drain.End - drain.Start)!.Value.TotalSeconds, 1.9, 2.1);
        Assert.True(cycles[1].Drains[2].LitresAtStart > cycles[0].Drains[2].LitresAtStart + 1);
    }

    [Fact]
    public void A_chattering_drain_sensor_changes_again_and_again()
    {
        var chatter = Watch(Washer(new DrainSensorChatter { When = When.InCycle(1), Station = 1, Duration = TimeSpan.FromMinutes(2) }), "drain.dry", 1);
        var quiet = Watch(Washer(), "drain.dry", 1);
        Assert.True(chatter.Count(c => c.At < TimeSpan.FromMinutes(2)) > 4 * quiet.Count(c => c.At < TimeSpan.FromMinutes(2)));
    }

    [Fact]
    public void A_worn_pump_shows_in_pressure_flow_current_and_the_liquid_delivered()
    {
        var fresh = Run();
        var worn = Run(new PumpWear { When = When.At(TimeSpan.Zero), Initial = 0.1, PerCycle = 0.03 });
        Assert.True(worn.FinishedCycles.Last().Kegs[0].Delivered < fresh.FinishedCycles.Last().Kegs[0].Delivered * 0.9);
        Assert.True(HighestOf(worn, "pressure.spray") < HighestOf(fresh, "pressure.spray") - 0.3);
        Assert.True(HighestOf(worn, "current.spray-pump") < HighestOf(fresh, "current.spray-pump") - 0.1);
    }

    [Fact]
    public void An_empty_bath_delivers_nothing()
    {
        var washer = Washer(new BathEmpty { When = When.InCycle(2), Bath = BathKind.Sanitiser, Duration = TimeSpan.FromMinutes(3) });
        var lowest = double.MaxValue;
        Each(washer, HalfHour, TimeSpan.FromSeconds(1), () => lowest = Math.Min(lowest, Value(washer, "level.sanitiser")));
        var sanitised = washer.FinishedCycles.ElementAt(1).Drains.First(d => d.Phase == "sanitise");
        Assert.True(sanitised.LitresAtStart < 0.3, $"{sanitised.LitresAtStart} L");
        Assert.True(lowest < 3);
        Assert.True(washer.FinishedCycles.Last().Drains.First(d => d.Phase == "sanitise").LitresAtStart > 1);
    }

    [Fact]
    public void A_failed_heater_lets_the_caustic_cool_and_it_comes_back_with_the_heater()
    {
        var washer = Washer(new HeaterFailure { When = When.At(TimeSpan.FromMinutes(2)), Bath = BathKind.Caustic, Duration = TimeSpan.FromMinutes(40) });
        washer.AdvanceTo(TimeSpan.FromMinutes(2));
        Assert.InRange(Value(washer, "temperature.caustic"), 67, 72);
        washer.AdvanceTo(TimeSpan.FromMinutes(42));
        Assert.True(Value(washer, "temperature.caustic") < 64);
        Assert.True(washer.FinishedCycles.Last().Kegs[0].HottestCel < washer.FinishedCycles.First().Kegs[0].HottestCel - 2);
        washer.AdvanceTo(TimeSpan.FromHours(3));
        Assert.InRange(Value(washer, "temperature.caustic"), 66, 72);
    }

    [Fact]
    public void Weak_dosing_lets_the_strength_fall()
    {
        // Two films of 0.12 L of 90 L are lost a cycle, some twenty cycles an hour: 5 % an hour, and next to nothing is added.
        var washer = Washer(new WeakDosing { When = When.At(TimeSpan.Zero), Bath = BathKind.Caustic, Share = 0.002 });
        washer.AdvanceTo(TimeSpan.FromHours(4));
        var good = Washer();
        good.AdvanceTo(TimeSpan.FromHours(4));
        Assert.InRange(Value(washer, "conductivity.caustic") / Value(good, "conductivity.caustic"), 0.5, 0.9);
        Assert.InRange(Value(good, "conductivity.caustic") / good.Plant.Bath(BathKind.Caustic)!.TargetConductivity, 0.94, 1.06);
    }

    [Fact]
    public void Low_CO2_leaves_more_oxygen_in_the_keg()
    {
        var cycles = Run(new LowCo2 { When = When.InCycle(2), Bar = 1.9, Duration = TimeSpan.FromSeconds(175) }).FinishedCycles.ToList();
        Assert.True(cycles[1].Kegs[0].Oxygen > 3 * cycles[0].Kegs[0].Oxygen);
        Assert.True(cycles[3].Kegs[0].Oxygen < 1.2 * cycles[0].Kegs[0].Oxygen);
    }

    [Fact]
    public void More_water_pressure_puts_more_liquid_in_and_so_lengthens_the_drain()
    {
        var cycles = Run(new WaterPressure { When = When.InCycle(2), Bar = 5.5, Duration = TimeSpan.FromSeconds(60) }).FinishedCycles.ToList();
        Assert.True(cycles[1].Drains[0].LitresAtStart > 1.15 * cycles[0].Drains[0].LitresAtStart);
        Assert.True(cycles[1].Drains[0].Dry - cycles[1].Drains[0].Start > cycles[0].Drains[0].Dry - cycles[0].Drains[0].Start);
    }

    [Fact]
    public void A_person_can_stop_a_cycle()
    {
        var washer = Run(new OperatorStop { When = When.InStep(2, "sanitise", StepKind.Hold, TimeSpan.FromSeconds(10)) });
        var cycle = washer.FinishedCycles.ElementAt(1);
        Assert.Equal(TrueOutcome.Aborted, cycle.Outcome);
        var last = cycle.Steps.Last();
        Assert.Equal(StepKind.Hold, last.Kind);
        Assert.True(last.Interrupted);
        Assert.Equal(10, last.Held!.Value.TotalSeconds, 1);
        Assert.Equal(TrueOutcome.Completed, washer.FinishedCycles.ElementAt(2).Outcome);
    }

    [Fact]
    public void A_pause_stops_the_step_time_shows_in_its_flag_and_is_not_part_of_the_time_held()
    {
        var washer = Washer(new OperatorPause { When = When.InStep(1, "sanitise", StepKind.Hold, TimeSpan.FromSeconds(10)), Duration = TimeSpan.FromSeconds(22) });
        var flags = Watch(washer, "sequence.paused");
        var cycle = washer.FinishedCycles.First();
        var pause = Assert.Single(cycle.Pauses);
        Assert.Equal(TimeSpan.FromSeconds(22), pause.End - pause.Start);
        Assert.Equal([pause.Start, pause.End!.Value], flags.Take(2).Select(f => f.At));
        var hold = cycle.Steps.Single(s => s.Kind == StepKind.Hold);
        Assert.Equal(TimeSpan.FromSeconds(22), hold.Paused);
        Assert.Equal(35, hold.Held!.Value.TotalSeconds, 1);
        Assert.Equal(57, (hold.End - hold.Start)!.Value.TotalSeconds, 1);
    }

    [Fact]
    public void After_a_power_cut_the_controller_comes_back_idle_with_its_count_kept()
    {
        var washer = Run(new PowerCut { When = When.InStep(2, "caustic-wash", StepKind.WallSpray, TimeSpan.FromSeconds(5)), Duration = TimeSpan.FromSeconds(12) });
        var cycle = washer.FinishedCycles.ElementAt(1);
        Assert.Equal(TrueOutcome.PowerLost, cycle.Outcome);
        Assert.True(washer.FinishedCycles.ElementAt(2).Start > cycle.End + TimeSpan.FromSeconds(12));
        Assert.Equal(cycle.CycleCount + 1, washer.FinishedCycles.ElementAt(2).CycleCount);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void A_controller_that_restarts_goes_on_or_comes_back_idle(bool resumes)
    {
        var washer = Washer(new ControllerRestart { When = When.InStep(1, "sanitise", StepKind.Hold, TimeSpan.FromSeconds(10)), Duration = TimeSpan.FromSeconds(4), Resumes = resumes });
        var down = 0;
        Each(washer, HalfHour, TimeSpan.FromSeconds(0.5), () => down += washer.Link.IsUp(washer.Now) ? 0 : 1);
        var cycle = washer.FinishedCycles.First();
        Assert.Equal(8, down);
        Assert.Equal(resumes ? TrueOutcome.Completed : TrueOutcome.PowerLost, cycle.Outcome);
        if (resumes)
        {
            Assert.Equal(39, cycle.Steps.Single(s => s.Kind == StepKind.Hold).Held!.Value.TotalSeconds, 1);
        }
    }

    [Fact]
    public void A_power_cut_while_the_controller_restarts_to_go_on_still_ends_the_cycle()
    {
        var at = When.InStep(1, "sanitise", StepKind.Hold, TimeSpan.FromSeconds(10));
        var washer = Run(
            new ControllerRestart { When = at, Duration = TimeSpan.FromSeconds(4), Resumes = true },
            new PowerCut { When = When.InStep(1, "sanitise", StepKind.Hold, TimeSpan.FromSeconds(12)), Duration = TimeSpan.FromSeconds(9) });
        Assert.Equal(TrueOutcome.PowerLost, washer.FinishedCycles.First().Outcome);
        Assert.Equal(TrueOutcome.Completed, washer.FinishedCycles.ElementAt(1).Outcome);
    }

    [Fact]
    public void A_changed_setpoint_shows_in_its_register_and_in_the_step()
    {
        var washer = Run(new SetpointEdited { When = When.InCycle(3), Setpoint = "sanitise.hold", Value = TimeSpan.FromSeconds(18) });
        Assert.Equal([35, 35, 18, 18], washer.FinishedCycles.Take(4).Select(c => Math.Round(c.Steps.Single(s => s.Kind == StepKind.Hold).Held!.Value.TotalSeconds)));
        Assert.Equal(18, Value(washer, "setpoint.sanitise.hold"), 6);
    }

    [Fact]
    public void A_phase_switched_off_and_a_programme_selected_count_from_the_next_cycle()
    {
        var options = Options(
            new PhaseSwitched { When = When.InCycle(1), Phase = "acid-wash", Enabled = false },
            new ProgrammeSelected { When = When.InCycle(2), Number = 3 }) with
        { Programmes = [InventedProgrammes.Full, InventedProgrammes.Repeated] };
        var washer = new SimulatedWasher(options);
        washer.AdvanceTo(HalfHour);
        var cycles = washer.FinishedCycles.ToList();
        Assert.Contains(cycles[0].Phases, p => p.Id == "acid-wash");
        Assert.DoesNotContain(cycles[1].Phases, p => p.Id == "acid-wash");
        Assert.Equal(3, cycles[2].Phases.Single(p => p.Id == "caustic-wash").Passes.Count);
        Assert.Equal([1, 1, 3], cycles.Take(3).Select(c => c.Programme));
    }

    [Fact]
    public void Faults_that_nobody_schedules_for_a_place_never_reached_do_nothing() =>
        Assert.All(Run(new OperatorStop { When = When.InCycle(500) }).FinishedCycles, c => Assert.Equal(TrueOutcome.Completed, c.Outcome));

    private static double DrainSeconds(TrueCycle cycle, int station)
    {
        var drain = cycle.Drains.Single(d => d.Phase == "caustic-wash" && d.Station == station);
        return (drain.Dry - drain.Start)!.Value.TotalSeconds;
    }

    private static double HighestOf(SimulatedWasher washer, string name)
    {
        var highest = double.MinValue;
        Each(washer, washer.Now + TimeSpan.FromMinutes(4), TimeSpan.FromMilliseconds(500), () => highest = Math.Max(highest, Value(washer, name)));
        return highest;
    }

    private static double Value(SimulatedWasher washer, string name, int station = 0) => washer.Read(IndexOf(washer, name, station)).Number;

    private static int IndexOf(SimulatedWasher washer, string name, int station) =>
        washer.Map.Index().Single(m => m.Item.Signal.Name == name && m.Item.Signal.Station == station).Index;

    /// <summary>When a flag changed, scan by scan.</summary>
    private static List<(TimeSpan At, bool Set)> Watch(SimulatedWasher washer, string name, int station = 0)
    {
        var changes = new List<(TimeSpan, bool)>();
        var index = IndexOf(washer, name, station);
        var last = washer.Read(index).IsSet;
        Each(washer, HalfHour, washer.Options.Scan, () =>
        {
            var set = washer.Read(index).IsSet;
            if (set != last)
            {
                changes.Add((washer.Now, set));
            }

            last = set;
        });
        return changes;
    }

    private static void Each(SimulatedWasher washer, TimeSpan until, TimeSpan step, Action look)
    {
        for (var t = washer.Now + step; t <= until; t += step)
        {
            washer.AdvanceTo(t);
            look();
        }
    }

    private static SimulatedWasher Run(params Fault[] faults)
    {
        var washer = Washer(faults);
        washer.AdvanceTo(HalfHour);
        return washer;
    }

    private static SimulatedWasher Washer(params Fault[] faults) => new(Options(faults));

    private static WasherOptions Options(params Fault[] faults) => new() { Id = "w1", Seed = 11, Faults = faults, KegIds = true };
}
