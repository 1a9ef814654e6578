using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Physics;

namespace WashBridge.Simulator.Tests;

public sealed class PhysicsTests
{
    private const double Step = 0.05;

    [Theory]
    [InlineData(2, 4)]
    [InlineData(4, 6)]
    public void A_drain_takes_longer_for_more_liquid(double less, double more) =>
        Assert.True(DrainSeconds(more) > DrainSeconds(less) + 1);

    [Fact]
    public void A_drain_takes_longer_through_a_clogged_valve_in_proportion_to_the_opening_left()
    {
        // By its own weight alone and with the gas space open to the air, flow is proportional to the opening at every height of the liquid: half the opening, twice the time.
        Assert.InRange(DrainSeconds(4, 0.5, Nature.AtmosphereBar, 1e6) / DrainSeconds(4, 0, Nature.AtmosphereBar, 1e6), 1.97, 2.03);
        Assert.True(DrainSeconds(4, clogging: 0.2) > DrainSeconds(4, clogging: 0.1));
    }

    [Fact]
    public void A_drain_is_faster_under_more_gas_pressure() =>
        Assert.True(DrainSeconds(4, assistBar: 1.6) < DrainSeconds(4, assistBar: 1.2) * 0.8);

    [Fact]
    public void A_gravity_drain_follows_Torricelli()
    {
        // No gas pressure: v = sqrt(2 g h) with h = 0.3 m of pipe and the liquid's own height; the area is 6.2e-5 m2 (the model's own figures).
        var keg = new Keg(30, 15);
        keg.Fill(5, 15, default);
        keg.ExchangeGas(Nature.AtmosphereBar, 1000, 0, 60);
        var litres = keg.Drain(1, 0.001, out _);
        var height = 0.3 + (5.15 / 1000 / 0.113);
        Assert.Equal(1000 * 6.2e-5 * Math.Sqrt(2 * 9.81 * height) * 0.001, litres, 6);
    }

    [Fact]
    public void Liquid_is_neither_made_nor_lost_in_a_keg()
    {
        var keg = new Keg(30, 15);
        var random = DeterministicRandom.Stream(7, "test");
        for (var i = 0; i < 5000; i++)
        {
            if (random.Chance(0.6))
            {
                keg.Fill(0.02 * random.NextDouble(), 60, new Solute(0.0001, 0, 0));
            }

            keg.Drain(random.NextDouble(), random.Chance(0.3) ? Step : 0, out _);
            Assert.Equal(keg.InitialLitres + keg.DeliveredLitres - keg.DrainedLitres - keg.OverflowLitres, keg.Litres, 9);
            Assert.InRange(keg.Litres, 0, 27.000001);
        }

        Assert.True(keg.DrainedLitres > 1);
    }

    [Fact]
    public void An_overfull_keg_runs_over()
    {
        var keg = new Keg(30, 15);
        keg.Fill(40, 15, default);
        Assert.Equal(27, keg.Litres, 9);
        Assert.Equal(13.15, keg.OverflowLitres, 9);
    }

    [Fact]
    public void Gas_keeps_pressure_times_volume_when_liquid_squeezes_it()
    {
        var keg = new Keg(30, 15);
        var before = keg.GasBar * keg.GasLitres;
        keg.Fill(6, 15, default);
        Assert.Equal(before, keg.GasBar * keg.GasLitres, 9);
    }

    [Fact]
    public void Purge_swings_leave_the_oxygen_of_the_published_recursion()
    {
        // Pressure-swing recursion y_j = y_s + (y_0 - y_s)(P_L/P_H)^j, 1.01325 to 3.01325 bar, three swings, pure gas: 0.007965781119 (computed from the recursion).
        var keg = new Keg(30, 15);
        for (var swing = 0; swing < 3; swing++)
        {
            keg.ExchangeGas(3.01325, 50, 0, 60);
            keg.ExchangeGas(Nature.AtmosphereBar, 50, Nature.OxygenInAir, 60);
        }

        Assert.Equal(0.007965781119, keg.OxygenFraction, 6);
    }

    [Fact]
    public void One_long_gas_step_is_as_good_as_many_short_ones()
    {
        var one = new Keg(30, 15);
        var many = new Keg(30, 15);
        one.ExchangeGas(3.2, 20, 0, 2);
        for (var i = 0; i < 200; i++)
        {
            many.ExchangeGas(3.2, 20, 0, 0.01);
        }

        Assert.Equal(one.GasBar, many.GasBar, 9);
        Assert.Equal(one.OxygenFraction, many.OxygenFraction, 9);
    }

    [Fact]
    public void Heat_is_conserved_between_liquid_and_shell_but_for_the_loss_to_the_room()
    {
        var keg = new Keg(30, 10);
        keg.Fill(4, 70, default);
        var before = keg.HeatContent;
        var lost = 0.0;
        for (var i = 0; i < 200; i++)
        {
            lost += keg.ExchangeHeat(20, spraying: true, 0.5);
        }

        Assert.Equal(before, keg.HeatContent + lost, 6);
        Assert.InRange(keg.LiquidCel - keg.ShellCel, 0, 0.5);
        Assert.InRange(keg.ShellCel, 50, 60);
    }

    [Fact]
    public void A_baths_heat_balances_heater_losses_and_what_is_added()
    {
        var plant = new PlantOptions();
        var bath = new Bath(new BathOptions(BathKind.Caustic, 90, 2, 70, 9, true), plant);
        var start = bath.HeatContent;
        var given = 0.0;
        var taken = 0.0;
        for (var i = 0; i < 3000; i++)
        {
            bath.HeaterOn = bath.ProbeCel < 70;
            if (i % 10 == 0)
            {
                taken += Nature.LiquidHeat * 0.5 * bath.Cel;
                var solute = bath.Take(0.5);
                bath.Return(0.45, 45, solute * 0.9);
                given += Nature.LiquidHeat * 0.45 * 45;
            }

            bath.Step(plant.RoomCel, plant.WaterCel, 0.5);
        }

        Assert.Equal(start + bath.HeaterKilojoules - bath.LostKilojoules + bath.AddedKilojoules + given - taken, bath.HeatContent, 3);
        Assert.InRange(bath.Cel, 60, 72);
        Assert.True(bath.HeaterKilojoules > 0 && bath.LostKilojoules > 0 && bath.AddedKilojoules > 0);
    }

    [Fact]
    public void A_bath_without_its_heater_cools_towards_the_room()
    {
        var bath = new Bath(new BathOptions(BathKind.Caustic, 90, 2, 70, 9, true), new PlantOptions()) { HeaterOn = true, HeaterWorks = false };
        for (var i = 0; i < 7200; i++)
        {
            bath.Step(19, 14, 1);
        }

        Assert.InRange(bath.Cel, 19, 66);
    }

    [Theory]
    [InlineData(0.5, 24.8)]
    [InlineData(1, 48.6)]
    [InlineData(2, 93.1)]
    public void Caustic_conducts_as_sodium_hydroxide_does(double percent, double at20Cel) =>

        // mS/cm at 20 Cel, CRC Handbook (value from memory); 2 %/K to 25 Cel; half a mS/cm is tap water.
        Assert.InRange((new Solute(percent / 100, 0, 0).ConductivityAt25(1) - 0.5) / 1.1 / at20Cel, 0.98, 1.02);

    [Theory]
    [InlineData(0.5, 28.4)]
    [InlineData(1, 56.1)]
    [InlineData(2, 108)]
    public void Acid_conducts_as_nitric_acid_does(double percent, double at20Cel) =>

        // mS/cm at 20 Cel, CRC Handbook.
        Assert.InRange((new Solute(0, percent / 100, 0).ConductivityAt25(1) - 0.5) / 1.1 / at20Cel, 0.98, 1.02);

    [Fact]
    public void A_worn_pump_gives_less_flow_and_pressure_and_draws_less_current()
    {
        var fresh = RunPump(0);
        var worn = RunPump(0.3);
        Assert.True(worn.Flow < fresh.Flow * 0.8);
        Assert.True(worn.DeliveryBar < fresh.DeliveryBar - 0.5);
        Assert.True(worn.MotorAmperes < fresh.MotorAmperes - 0.2);
    }

    [Fact]
    public void A_pump_without_liquid_gives_nothing_and_draws_its_no_load_current()
    {
        var dry = RunPump(0, hasLiquid: false);
        Assert.Equal(0, dry.Flow, 6);
        Assert.Equal(Nature.AtmosphereBar, dry.DeliveryBar, 6);
        Assert.InRange(dry.MotorAmperes, 1.5, 2.1);
    }

    [Fact]
    public void Water_boils_at_100_Cel_under_one_atmosphere() => Assert.InRange(Plant.Boiling(Nature.AtmosphereBar), 99.5, 100.5);

    [Fact]
    public void A_drain_sensor_reads_dry_late_and_can_bounce_before_it_settles()
    {
        var bounced = 0;
        for (var seed = 0; seed < 50; seed++)
        {
            var sensor = new DrainSensor(DeterministicRandom.Stream(seed, "test"));
            sensor.Step(true, Step);
            Assert.False(sensor.ReadsDry);
            sensor.Step(false, 0.1);
            Assert.False(sensor.ReadsDry);
            var changes = 0;
            for (var i = 0; i < 20; i++)
            {
                var before = sensor.ReadsDry;
                sensor.Step(false, Step);
                changes += before != sensor.ReadsDry ? 1 : 0;
            }

            Assert.True(sensor.ReadsDry);
            bounced += changes > 1 ? 1 : 0;
        }

        Assert.InRange(bounced, 10, 50);
    }

    [Fact]
    public void Noise_has_mean_zero_and_standard_deviation_one_and_does_not_depend_on_how_often_it_is_read()
    {
        var values = Enumerable.Range(0, 20_000).Select(i => DeterministicRandom.NoiseAt(99, 3, i)).ToList();
        Assert.Equal(0, values.Average(), 1);
        Assert.InRange(values.Average(v => v * v), 0.95, 1.05);
        Assert.Equal(values[777], DeterministicRandom.NoiseAt(99, 3, 777));
        Assert.NotEqual(values[777], DeterministicRandom.NoiseAt(99, 4, 777));
    }

    private static SprayPump RunPump(double wear, bool hasLiquid = true)
    {
        var pump = new SprayPump(2, 3.2) { Wear = wear };
        for (var i = 0; i < 200; i++)
        {
            pump.Run(true, hasLiquid, 2, spear: false, Step);
        }

        return pump;
    }

    private static double DrainSeconds(double litres, double clogging = 0, double assistBar = 1.35, double assistConductance = 15)
    {
        var keg = new Keg(30, 15);
        keg.Fill(litres, 15, default);
        keg.ExchangeGas(Nature.AtmosphereBar, 1000, 0, 60);
        var seconds = 0.0;
        while (keg.NeckIsWet && seconds < 300)
        {
            keg.Drain(1 - clogging, Step, out _);
            keg.ExchangeGas(assistBar, assistConductance, Nature.OxygenInAir, Step);
            seconds += Step;
        }

        return seconds;
    }
}
