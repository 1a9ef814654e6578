using WashBridge.Analysis.Upkeep;
using WashBridge.Analysis.Upkeep.Diagnosis;
using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Tests.Upkeep;

/// <summary>What tells causes apart that look alike at first sight; each after 300 good cycles.</summary>
public sealed class CauseEvidenceTests
{
    private const int Good = 300;
    private static readonly AnalysisSettings Settings = new() { Washer = "w1", Stations = 2, DrainTimeout = TimeSpan.FromSeconds(30) };

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    public void A_valve_that_clogs_fast_is_not_taken_for_a_sensor_that_sticks(int seed)
    {
        // From 10 s to 30 s within 80 cycles: a mean that lags would show scatter, and lateness that is alike for all drains.
        var watch = Run(seed, 80, (w, n) => w.Resistance = 1 + (2.2 * n / 80));
        Assert.Equal("clogging-valve", First(watch, "drain-valve@2"));
        var signs = Signs(watch, "drain-valve@2");
        Assert.InRange(signs["shape"].Value, 0.85, 1.15);
        Assert.InRange(signs["scatter"].Value, -0.3, 0.1);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    public void A_sensor_that_sticks_adds_the_same_to_long_and_short_drains_and_another_time_each_time(int seed)
    {
        var watch = Run(seed, 40, (w, _) => w.Sticking = 6);
        Assert.Equal("sticking-sensor", First(watch, "drain-sensor@2"));
        var signs = Signs(watch, "drain-sensor@2");
        Assert.InRange(signs["shape"].Value, -0.3, 0.3);
        Assert.InRange(signs["scatter"].Value, 0.5, 1.3);
    }

    [Theory]
    [InlineData("rinse/1", 1.3)]
    [InlineData("caustic-wash/1", 1.5)]
    [InlineData("", 1.15)]
    public void More_liquid_is_seen_though_it_goes_before_one_drain_only(string before, double liquid)
    {
        var watch = Run(5, 40, (w, _) => (w.Liquid, w.LiquidBefore) = (liquid, before));
        Assert.Equal("more-liquid", First(watch, "drain-valve@1"));
        Assert.InRange(Signs(watch, "drain-valve@1")["by-liquid"].Value, 0.8, 1.2);
    }

    [Fact]
    public void More_liquid_does_not_hide_a_valve_that_clogs()
    {
        var watch = Run(6, 40, (w, _) => (w.Liquid, w.LiquidBefore, w.Resistance) = (1.4, "rinse/1", 1.6));
        Assert.Equal("clogging-valve", First(watch, "drain-valve@2"));
        Assert.Equal("more-liquid", First(watch, "drain-valve@1"));
    }

    [Fact]
    public void What_slows_one_station_clearly_more_than_the_others_is_its_own()
    {
        var watch = Run(7, 40, (w, _) => (w.Air, w.Resistance) = (6.7, 1.8));
        Assert.Equal("clogging-valve", First(watch, "drain-valve@2"));
    }

    [Theory]
    [InlineData("check-valve", 1, 9, 1)]
    [InlineData("dosing-tube", 0.5, 0, 1)]
    [InlineData("more-chemical-drawn", 1, 0, 1.3)]
    public void A_longer_dosing_is_told_apart_by_how_long_it_is_and_by_what_it_does(string cause, double tube, double empty, double drawn)
    {
        // A longer reference: there is one dosing in twelve cycles.
        var watch = Run(8, 400, (w, _) => (w.Tube, w.LineEmpty, w.Drawn) = (tube, empty, drawn), good: 700);
        Assert.Equal(cause, First(watch, "dosing-tube/caustic"));
        Assert.Equal(cause, First(watch, "bath/caustic"));
    }

    [Fact]
    public void Each_cause_of_a_drain_comes_with_what_speaks_for_and_against_it()
    {
        var causes = Run(9, 40, (w, _) => w.Resistance = 2).Diagnose(Component.Parse("drain-valve@2"));
        Assert.Equal("clogging-valve", causes[0].Name);
        Assert.Contains("long drains are late by more than short ones", causes[0].For);
        Assert.Contains("long drains are late by more than short ones", causes.Single(c => c.Name == "sticking-sensor").Against);
        Assert.Contains("drains are longer than the liquid explains", causes.Single(c => c.Name == "more-liquid").Against);
        Assert.InRange(causes[0].Weight, 0.5, 0.99);
    }

    [Fact]
    public void The_part_that_is_asked_about_does_not_decide()
    {
        var watch = Run(10, 40, (w, _) => w.Sticking = 4);
        Assert.Equal(watch.Diagnose(Component.Parse("drain-valve@2")).Select(c => (c.Name, c.Weight)), watch.Diagnose(Component.Parse("drain-sensor@2")).Select(c => (c.Name, c.Weight)));
    }

    [Fact]
    public void Liquid_that_had_changed_before_a_valve_was_replaced_says_nothing_of_the_new_one()
    {
        var watch = new UpkeepWatch(Settings);
        var washer = new InventedWasher(11);
        for (var i = 0; i < 600; i++)
        {
            (washer.Liquid, washer.LiquidBefore) = (i < 300 ? 1 : 0.6, "caustic-wash/1");
            watch.Accept(washer.Next());
            if (i == 400)
            {
                watch.Accept(InventedWasher.Work(washer.Cycle, "drain-valve@2", MaintenanceKind.Replaced));
            }
        }

        Assert.InRange(Signs(watch, "drain-valve@2")["liquid"].Value, -0.3, 0.3);
        Assert.InRange(Signs(watch, "drain-valve@2")["drain"].Value, -0.3, 0.3);
        Assert.InRange(Signs(watch, "drain-valve@1")["liquid"].Value, -1, -0.9);
        Assert.InRange(Signs(watch, "drain-valve@1")["drain"].Value, -0.3, 0.3);
    }

    private static UpkeepWatch Run(int seed, int cycles, Action<InventedWasher, int> wear, int good = Good)
    {
        var watch = new UpkeepWatch(Settings);
        var washer = new InventedWasher(seed);
        for (var i = 0; i < good + cycles; i++)
        {
            if (i >= good)
            {
                wear(washer, i - good + 1);
            }

            watch.Accept(washer.Next());
        }

        return watch;
    }

    private static string First(UpkeepWatch watch, string component) => watch.Diagnose(Component.Parse(component))[0].Name;

    private static Dictionary<string, Sign> Signs(UpkeepWatch watch, string component) => watch.Signs(Component.Parse(component)).Signs.ToDictionary(s => s.Name);
}
