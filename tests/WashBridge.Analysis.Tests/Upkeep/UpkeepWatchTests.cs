using CsCheck;
using WashBridge.Analysis.Upkeep;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Tests.Upkeep;

public sealed class UpkeepWatchTests
{
    private static readonly AnalysisSettings Settings = new() { Washer = "w1", Stations = 2, DrainTimeout = TimeSpan.FromSeconds(30) };

    [Fact]
    public void A_clogging_valve_is_told_with_the_time_out_as_its_limit_and_the_right_cause_first()
    {
        var found = Run(new UpkeepWatch(Settings), 1600, w => w.Resistance = 1 + Math.Max(0, (w.Cycle - 400) / 1000.0));
        var told = Forecasts(found, "drain-valve@2").Where(f => f.Forecast.State == ForecastState.Approaching).ToList();
        Assert.NotEmpty(told);
        var last = told[^1].Forecast;
        Assert.Equal("drain-index@2", last.Index);
        Assert.Equal("the washer's own time-out", last.LimitSource);

        // The longest drain takes 9.8 s when new, and 10.3 s when it is unlucky: at 2.9 times that it meets 30 s.
        Assert.InRange(last.Limit!.Value, 2.75, 3);
        Assert.Equal("clogging-valve", last.Causes[0].Name);
        Assert.Contains(last.Causes[0].For, f => f.Contains("others", StringComparison.Ordinal) || f.Contains("other stations", StringComparison.Ordinal));
        Assert.True(last.CyclesLeftLower <= last.CyclesLeft && last.CyclesLeft <= last.CyclesLeftUpper);
        Assert.True(last.DueEarliest <= last.Due && last.Due <= last.DueLatest);
    }

    [Fact]
    public void Half_way_the_interval_holds_the_truth()
    {
        // It reaches 3.05 times its resistance at cycle 2450; at 1425 half of that is over.
        var found = Run(new UpkeepWatch(Settings), 1430, w => w.Resistance = 1 + Math.Max(0, (w.Cycle - 400) / 1000.0));
        var last = Forecasts(found, "drain-valve@2")[^1];
        var left = 2450 - int.Parse(last.CycleId![3..]);
        Assert.InRange(left, last.Forecast.CyclesLeftLower!.Value, last.Forecast.CyclesLeftUpper!.Value);
        Assert.InRange(last.Forecast.CyclesLeft!.Value, 0.75 * left, 1.25 * left);
    }

    [Fact]
    public void What_does_not_wear_is_told_seldom_and_without_alarm()
    {
        var forecasts = Run(new UpkeepWatch(Settings), 3000, _ => { }).OfType<ForecastMade>().ToList();
        Assert.NotEmpty(forecasts);
        Assert.All(forecasts, f => Assert.Equal(ForecastState.NoTrend, f.Forecast.State));

        // A first time, and then every thousand cycles.
        Assert.All(forecasts.GroupBy(f => f.Forecast.Component.Key), g => Assert.InRange(g.Count(), 1, 4));
    }

    [Fact]
    public void More_liquid_is_no_wear()
    {
        var found = Run(new UpkeepWatch(Settings), 1500, w => (w.Liquid, w.RecipeVersion) = w.Cycle < 600 ? (1, 1) : (1.4, 2));
        Assert.DoesNotContain(found.OfType<ForecastMade>(), f => f.Forecast.State is ForecastState.Approaching or ForecastState.Reached);
    }

    [Theory]
    [InlineData("sticking-sensor", "drain-sensor@2")]
    [InlineData("worn-pump", "spray-pump")]
    [InlineData("dosing-tube", "dosing-tube/caustic")]
    [InlineData("heater", "heater/caustic")]
    [InlineData("low-co2", "co2-supply")]
    [InlineData("low-air", "drain-valve@1")]
    [InlineData("weak-bath", "bath/caustic")]
    public void Each_wear_is_told_of_its_part_with_its_cause_first(string cause, string component)
    {
        var found = Run(new UpkeepWatch(Settings), 2200, w => Wear(w, cause, Math.Max(0, (w.Cycle - 500) / 2500.0)));
        var told = Forecasts(found, component).Where(f => f.Forecast.State is ForecastState.Approaching or ForecastState.Reached).ToList();
        Assert.NotEmpty(told);
        Assert.Equal(cause, told[^1].Forecast.Causes[0].Name);
    }

    /// <summary>Filling the line makes a second of dosing do less, too: that must not hide the loss from its own index.</summary>
    [Fact]
    public void A_leaking_check_valve_is_told_of_with_its_end()
    {
        var found = Run(new UpkeepWatch(Settings), 2200, w => w.LineEmpty = Math.Max(0, (w.Cycle - 500) / 60.0));
        var last = Forecasts(found, "dosing-check-valve/caustic")[^1];

        // A line stands for 12 cycles of 3 min: the limit of 20 s for 1,000 s is 43.2 s, which are reached at cycle 3092.
        var left = 3092 - int.Parse(last.CycleId![3..]);
        Assert.Equal(ForecastState.Approaching, last.Forecast.State);
        Assert.InRange(left, last.Forecast.CyclesLeftLower!.Value, last.Forecast.CyclesLeftUpper!.Value);
        Assert.Equal("check-valve", last.Forecast.Causes[0].Name);
    }

    [Fact]
    public void Maintenance_scores_what_was_foretold_and_begins_the_reference_anew()
    {
        var watch = new UpkeepWatch(Settings);
        var found = Run(watch, 1600, w => w.Resistance = 1 + Math.Max(0, (w.Cycle - 400) / 1000.0));
        var work = watch.Accept(InventedWasher.Work(1600, "drain-valve@2", MaintenanceKind.Restored));
        var score = Assert.IsType<ForecastScored>(Assert.Single(work));
        var last = Forecasts(found, "drain-valve@2")[^1];
        Assert.Equal(WashJson.Write(last), WashJson.Write(last with { Forecast = score.Score.Forecast }));
        Assert.Equal(1600 - int.Parse(last.CycleId![3..]), score.Score.CyclesRun);
        Assert.Contains("still working", score.Score.Outcome);

        var after = new List<WashEvent>();
        var washer = new InventedWasher(8);
        for (var i = 0; i < 400; i++)
        {
            after.AddRange(watch.Accept(washer.Next()));
        }

        Assert.Equal(ForecastState.NotEnoughEvidence, Forecasts(after, "drain-valve@2")[0].Forecast.State);
        Assert.Equal(ForecastState.NoTrend, Forecasts(after, "drain-valve@2")[^1].Forecast.State);
    }

    [Fact]
    public void An_inspection_changes_nothing()
    {
        var watch = new UpkeepWatch(Settings);
        Run(watch, 300, _ => { });
        var before = watch.Snapshot();
        Assert.Empty(watch.Accept(InventedWasher.Work(300, "drain-valve@2", MaintenanceKind.Inspected)));
        Assert.Equal(before, watch.Snapshot());
    }

    [Fact]
    public void After_some_replacements_the_age_of_a_part_speaks()
    {
        var watch = new UpkeepWatch(Settings);
        var washer = new InventedWasher(3);
        var found = new List<WashEvent>();
        for (var life = 0; life < 6; life++)
        {
            for (var i = 0; i < 400 + (40 * life); i++)
            {
                found.AddRange(watch.Accept(washer.Next()));
            }

            found.AddRange(watch.Accept(InventedWasher.Work(washer.Cycle, "spray-pump", MaintenanceKind.Replaced, hadFailed: life > 0)));
        }

        for (var i = 0; i < 200; i++)
        {
            found.AddRange(watch.Accept(washer.Next()));
        }

        var last = Forecasts(found, "spray-pump")[^1].Forecast;
        Assert.Equal(ForecastState.NoTrend, last.State);
        Assert.Contains(last.Evidence, e => e.Contains("age speaks", StringComparison.Ordinal));

        // Lives of 440 to 600 cycles, of which some 70 are over.
        Assert.InRange(last.CyclesLeft!.Value, 350, 550);
        Assert.InRange(last.CyclesLeftLower!.Value, 150, last.CyclesLeft.Value);
    }

    [Fact]
    public void A_signal_of_a_chart_is_told_of_at_once_with_its_causes()
    {
        var watch = new UpkeepWatch(Settings);
        var washer = new InventedWasher(5);
        for (var i = 0; i < 300; i++)
        {
            watch.Accept(washer.Next());
        }

        washer.Resistance = 1.06;
        for (var i = 0; i < 40; i++)
        {
            watch.Accept(washer.Next());
        }

        watch.Accept(Drift(washer.Cycle, "drain-index@2"));
        var told = Assert.Single(watch.Accept(washer.Next()).OfType<ForecastMade>(), f => f.Forecast.Component.Key == "drain-valve@2");
        Assert.Equal("clogging-valve", told.Forecast.Causes[0].Name);
    }

    [Fact]
    public void Nothing_measured_is_not_enough_evidence() =>
        Assert.Empty(Run(new UpkeepWatch(Settings), 500, w => w.IsBlind = true));

    [Fact]
    public void The_users_limit_goes_before_the_others()
    {
        var settings = Settings with { Limits = new Dictionary<string, double> { ["drain-index"] = 1.5, ["drain-index@2"] = 1.8 } };
        var found = Run(new UpkeepWatch(settings), 900, w => w.Resistance = 1 + Math.Max(0, (w.Cycle - 300) / 1000.0));
        var last = Forecasts(found, "drain-valve@2")[^1].Forecast;
        Assert.Equal(1.8, last.Limit);
        Assert.Equal("the site's own limit", last.LimitSource);
        Assert.Equal(1.5, Forecasts(found, "drain-valve@1")[^1].Forecast.Limit);
    }

    [Fact]
    public void Cut_anywhere_and_restored_it_tells_the_same()
    {
        var events = Events();
        var whole = new UpkeepWatch(Settings);
        var expected = events.Select(e => string.Join('\n', whole.Accept(e).Select(WashJson.Write))).ToList();
        Gen.Int[1, events.Count - 1].Sample(
            cut =>
            {
                var first = new UpkeepWatch(Settings);
                var told = events.Take(cut).Select(e => string.Join('\n', first.Accept(e).Select(WashJson.Write))).ToList();
                var second = new UpkeepWatch(Settings);
                second.Restore(first.Snapshot());
                Assert.Equal(first.Snapshot(), second.Snapshot());
                told.AddRange(events.Skip(cut).Select(e => string.Join('\n', second.Accept(e).Select(WashJson.Write))));
                Assert.Equal(expected, told);
                Assert.Equal(whole.Snapshot(), second.Snapshot());
            },
            iter: 12);
    }

    [Fact]
    public void A_snapshot_of_another_washer_is_refused()
    {
        var snapshot = new UpkeepWatch(Settings).Snapshot();
        Assert.Throws<System.Text.Json.JsonException>(() => new UpkeepWatch(Settings with { Stations = 3 }).Restore(snapshot));
    }

    /// <summary>Wear, drift, maintenance, a new recipe: all that changes what is remembered.</summary>
    private static List<WashEvent> Events()
    {
        var events = new List<WashEvent>();
        var washer = new InventedWasher(9);
        for (var i = 0; i < 1100; i++)
        {
            washer.Resistance = 1 + Math.Max(0, (i - 200) / 500.0);
            washer.Pump = 1 - (i / 9000.0);
            washer.RecipeVersion = i < 700 ? 1 : 2;
            events.Add(washer.Next());
            if (i == 500)
            {
                events.Add(Drift(i, "drain-index@2"));
            }

            if (i == 800)
            {
                events.Add(InventedWasher.Work(i, "drain-valve@2", MaintenanceKind.Replaced, hadFailed: true));
                events.Add(InventedWasher.Work(i, "spray-pump", MaintenanceKind.Restored));
            }
        }

        return events;
    }

    private static void Wear(InventedWasher washer, string cause, double wear)
    {
        switch (cause)
        {
            case "sticking-sensor":
                washer.Sticking = 15 * wear;
                break;
            case "worn-pump":
                washer.Pump = 1 - (0.12 * wear);
                break;
            case "dosing-tube":
                // To half of what it delivered: before, a line that empties while it stands would look the same.
                washer.Tube = 1 - (0.75 * wear);
                break;
            case "heater":
                washer.Heater = 1 - (0.5 * wear);
                break;
            case "low-co2":
                washer.Gas = 3.2 - (0.5 * wear);
                break;
            case "low-air":
                washer.Air = 7 - (4 * wear);
                break;
            default:
                washer.Strength = 1 - (0.3 * wear);
                break;
        }
    }

    private static DriftFound Drift(int cycle, string feature)
    {
        var at = InventedWasher.EndOf(cycle);
        return new DriftFound
        {
            Id = $"w1-{cycle:D6}/drift/{feature}",
            Washer = "w1",
            At = WashBridge.Core.Time.TimeBounds.At(at),
            Finding = new WashBridge.Core.Drift.DriftFinding
            {
                Feature = feature,
                Chart = WashBridge.Core.Drift.ChartKind.Cusum,
                Unit = "",
                Centre = 1,
                Spread = 0.02,
                ReferenceCycles = 50,
                Size = 0.06,
                SizeUncertainty = 0.01,
                Onset = new($"w1-{cycle:D6}", at, at, at),
                CyclesTouched = 40,
                Kegs = [],
                KegCount = 0,
                FalseAlarmEvery = 10_000,
            },
        };
    }

    private static List<ForecastMade> Forecasts(IEnumerable<WashEvent> events, string component) =>
        events.OfType<ForecastMade>().Where(f => f.Forecast.Component.Key == component).ToList();

    private static List<WashEvent> Run(UpkeepWatch watch, int cycles, Action<InventedWasher> wear)
    {
        var washer = new InventedWasher(7);
        var found = new List<WashEvent>();
        for (var i = 0; i < cycles; i++)
        {
            wear(washer);
            found.AddRange(watch.Accept(washer.Next()));
        }

        return found;
    }
}
