using WashBridge.Analysis.Alarms;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Upkeep;
using WashBridge.Core.Verdicts;
using static WashBridge.Analysis.Tests.Alarms.AlarmEvents;

namespace WashBridge.Analysis.Tests.Alarms;

public sealed class AlarmWatchTests
{
    private readonly AlarmWatch _watch = new(Settings);
    private readonly AlarmEvents _events = new();

    [Fact]
    public void A_forecast_is_an_alarm_once_it_is_near_and_urgent_once_it_is_reached()
    {
        Assert.Equal("", Take(_events.Forecast("drain-valve@1", ForecastState.Approaching, 501)));
        Assert.Equal("", Take(_events.Forecast("drain-valve@1", ForecastState.Approaching, null)));
        Assert.Equal("drain-valve@1 N-U", Take(_events.Forecast("drain-valve@1", ForecastState.Approaching, 500)));
        Assert.Equal("drain-valve@1 U-A", Take(_events.Order("drain-valve@1", AlarmOrderKind.Acknowledge)));
        Assert.Equal("drain-valve@1 A-U", Take(_events.Forecast("drain-valve@1", ForecastState.Reached)));
        Assert.Equal("", Take(_events.Forecast("drain-valve@1", ForecastState.Approaching, 3)));
        Assert.Equal("", Take(_events.Forecast("drain-valve@1", ForecastState.Reached)));
    }

    [Fact]
    public void A_forecast_that_comes_back_ends_its_alarm_after_the_dead_band_and_ten_cycles()
    {
        Take(_events.Forecast("heater", ForecastState.Approaching, 400));
        Take(_events.Forecast("heater", ForecastState.Approaching, 599));
        for (var i = 0; i < 20; i++)
        {
            Assert.Equal("", Take(_events.Cycle()));
        }

        Take(_events.Forecast("heater", ForecastState.Approaching, 601));
        for (var i = 1; i < 10; i++)
        {
            Assert.Equal("", Take(_events.Cycle()));
        }

        Assert.Equal("heater U-R", Take(_events.Forecast("heater", ForecastState.NoTrend)));
    }

    [Fact]
    public void Maintenance_ends_the_alarm_of_its_component_at_once_and_an_inspection_does_not()
    {
        Take(_events.Forecast("drain-valve@1", ForecastState.Approaching, 400));
        Take(_events.Forecast("drain-valve@2", ForecastState.Approaching, 400));
        Take(_events.Order("drain-valve@1", AlarmOrderKind.Acknowledge));
        Assert.Equal("", Take(_events.Maintained("drain-valve@1", MaintenanceKind.Inspected)));
        Assert.Equal("drain-valve@1 A-N", Take(_events.Maintained("drain-valve@1", MaintenanceKind.Restored)));
        Assert.Equal("drain-valve@2 U-R", Take(_events.Maintained("drain-valve@2", MaintenanceKind.Replaced)));
    }

    [Fact]
    public void A_drift_of_a_component_whose_forecast_stands_is_not_told_beside_it()
    {
        Assert.Equal("drift/drain-time@1 N-U", Take(_events.Drift("drain-time/rinse/1@1")));
        Assert.Equal("drift/drain-time@2 N-U", Take(_events.Drift("drain-time/rinse/1@2")));
        Assert.Equal("drain-valve@1 N-U, drift/drain-time@1 U-D", Take(_events.Forecast("drain-valve@1", ForecastState.Approaching, 400)));
        Assert.Equal("drift/drain-index@1 N-D", Take(_events.Drift("drain-index@1")));

        // Once the component is put right what still drifts is told for itself.
        Assert.Equal("", Take(_events.DriftEnded("drain-index@1")));
        Assert.Equal("drain-valve@1 U-R, drift/drain-index@1 D-N, drift/drain-time@1 D-U", Take(_events.Maintained("drain-valve@1", MaintenanceKind.Restored)));
    }

    [Fact]
    public void Of_a_valve_and_a_sensor_that_both_seem_to_wear_the_one_is_told_that_the_first_cause_names()
    {
        Assert.Equal("drain-valve@1 N-U", Take(_events.Forecast("drain-valve@1", ForecastState.Approaching, 400, "sticking-sensor")));
        Assert.Equal("drain-sensor@1 N-U, drain-valve@1 U-D", Take(_events.Forecast("drain-sensor@1", ForecastState.Approaching, 300, "sticking-sensor")));

        // The other station has its own.
        Assert.Equal("drain-valve@2 N-U", Take(_events.Forecast("drain-valve@2", ForecastState.Approaching, 400, "sticking-sensor")));

        // With another cause it is told for itself, and silent again when the cause comes back.
        Assert.Equal("drain-valve@1 D-U", Take(_events.Forecast("drain-valve@1", ForecastState.Approaching, 300, "low-air")));
        Assert.Equal("drain-valve@1 U-D", Take(_events.Forecast("drain-valve@1", ForecastState.Approaching, 200, "sticking-sensor")));
        Assert.Equal("drain-sensor@1 U-R, drain-valve@1 D-N", Take(_events.Maintained("drain-sensor@1", MaintenanceKind.Replaced)));
        Assert.Equal("drain-valve@1 N-U", Take(_events.Forecast("drain-valve@1", ForecastState.Approaching, 200, "sticking-sensor")));
    }

    [Fact]
    public void It_is_silent_from_the_start_where_the_alarm_of_the_part_behind_it_stands_and_is_told_when_that_one_ends()
    {
        Take(_events.Forecast("drain-sensor@1", ForecastState.Approaching, 300, "sticking-sensor"));
        Assert.Equal("drain-valve@1 N-D", Take(_events.Forecast("drain-valve@1", ForecastState.Approaching, 400, "sticking-sensor")));
        Take(_events.Forecast("drain-sensor@1", ForecastState.NoTrend, firstCause: "sticking-sensor"));
        var told = string.Concat(Enumerable.Range(0, 10).Select(_ => Take(_events.Cycle())));
        Assert.Equal("drain-sensor@1 U-R, drain-valve@1 D-U", told);
    }

    [Fact]
    public void A_cause_that_is_not_clear_or_named_crosswise_silences_nothing()
    {
        Assert.Equal("dosing-tube/acid N-U", Take(_events.Forecast("dosing-tube/acid", ForecastState.Approaching, 400, "check-valve", weight: 0.45)));
        Assert.Equal("dosing-check-valve/acid N-U", Take(_events.Forecast("dosing-check-valve/acid", ForecastState.Approaching, 400, "check-valve")));
        Assert.Equal("drain-valve@1 N-U", Take(_events.Forecast("drain-valve@1", ForecastState.Approaching, 400, "sticking-sensor")));
        Assert.Equal("drain-sensor@1 N-U", Take(_events.Forecast("drain-sensor@1", ForecastState.Approaching, 400, "clogging-valve")));
    }

    [Theory]
    [InlineData("drain-valve@1", "drain-time/rinse/1@1", true)]
    [InlineData("drain-valve@1", "drain-time/rinse/1@2", false)]
    [InlineData("drain-valve", "drain-time/rinse/1@2", true)]
    [InlineData("drain-sensor@2", "drain-bounce@2", true)]
    [InlineData("drain-valve@2", "drain-bounce@2", false)]
    [InlineData("dosing-tube/caustic", "strength/caustic", true)]
    [InlineData("dosing-tube/caustic", "strength/acid", false)]
    [InlineData("bath/sanitiser", "strength/sanitise", true)]
    [InlineData("heater", "spray-flow/caustic", false)]
    [InlineData("spray-pump", "spray-flow/caustic", true)]
    [InlineData("co2-supply", "no-such-figure", false)]
    public void A_figure_tells_of_components(string component, string feature, bool owns) => Assert.Equal(owns, FeatureOwner.Owns(Component.Parse(component), feature));

    [Theory]
    [InlineData("drain-time/rinse/1@2", "drain-time@2")]
    [InlineData("strength/caustic", "strength/caustic")]
    [InlineData("temperature-return/acid-wash@1", "temperature-return/acid@1")]
    [InlineData("spray-flow/caustic", "spray-flow")]
    [InlineData("all-figures", "all-figures")]
    public void Figures_that_drift_for_one_reason_share_a_group(string feature, string group) => Assert.Equal(group, FeatureOwner.Group(feature));

    [Fact]
    public void A_setpoint_below_the_approved_one_is_urgent()
    {
        var raised = Assert.IsType<AlarmChanged>(Assert.Single(_watch.Accept(_events.Deviated("sanitise.hold", approved: 35, set: 21))));
        Assert.Equal(("setpoint/sanitise.hold", AlarmPriority.High), (raised.Alarm, raised.Priority));
        Assert.Equal("w1: sanitise.hold is set to 21 s. The recipe full-wash version 3 says 35 s.", raised.Text.What);
        Assert.Equal("setpoint/sanitise.hold U-R", Take(_events.Conformed("sanitise.hold")));
        Assert.Equal(AlarmPriority.Medium, Assert.IsType<AlarmChanged>(Assert.Single(_watch.Accept(_events.Deviated("rinse.time", approved: 35, set: 40)))).Priority);
    }

    [Fact]
    public void Three_kegs_in_a_row_at_one_station_are_an_alarm_and_what_is_not_proven_does_not_count()
    {
        Assert.Equal("", Take(_events.Keg(1, Verdict.NotMet)));
        Assert.Equal("", Take(_events.Keg(2, Verdict.Met)));
        Assert.Equal("", Take(_events.Keg(1, Verdict.NotMet)));
        Assert.Equal("", Take(_events.Keg(1, Verdict.NotProven)));
        var raised = Assert.IsType<AlarmChanged>(Assert.Single(_watch.Accept(_events.Keg(1, Verdict.NotMet))));
        Assert.Equal(("kegs-not-met", AlarmPriority.High), (raised.Alarm, raised.Priority));
        Assert.Equal("w1, station 1: 3 kegs in a row or more did not meet the recipe (sanitise-hold).", raised.Text.What);
        Assert.Equal("", Take(_events.Keg(2, Verdict.Met)));
        Assert.Equal("kegs-not-met U-R", Take(_events.Keg(1, Verdict.Met)));
    }

    [Fact]
    public void A_short_break_of_the_connection_is_no_alarm_and_a_long_one_is()
    {
        var lost = _events.Lost();
        Assert.Equal("", Take(lost));
        Assert.Equal("", Take(_events.Later(TimeSpan.FromSeconds(-30)).Restored()));
        Assert.Equal("", Take(_events.Lost(0)));
        Assert.Equal("not-readable N-U", Take(_events.Lost(1)));
        Assert.Equal("", Take(_events.Restored(0)));
        Assert.Equal("", Take(_events.Restored(1)));
        Assert.Equal("not-readable U-R", Take(_events.Passed()));
    }

    [Fact]
    public void What_is_measured_while_the_washer_cannot_be_read_waits_until_it_can()
    {
        Take(_events.Lost());
        Take(_events.Passed());
        Assert.Equal("drift/level/caustic N-D", Take(_events.Drift("level/caustic", -3, "%")));
        Take(_events.Restored());
        Assert.Equal("not-readable U-R, drift/level/caustic D-U", Take(_events.Passed()));
    }

    [Fact]
    public void Shelving_ends_by_whatever_event_comes_after_its_end()
    {
        Take(_events.Drift("level/caustic", -3, "%"));
        Take(_events.Order("drift/level/caustic", AlarmOrderKind.Shelve, reason: "new sensor comes on Monday", shelveFor: TimeSpan.FromHours(1)));
        Assert.Equal("", Take(_events.Later(TimeSpan.FromMinutes(58)).Passed()));
        Assert.Equal("drift/level/caustic S-U", Take(_events.Keg(1, Verdict.Met)));
    }

    [Fact]
    public void A_drift_to_the_bad_side_of_what_a_keg_needs_is_more_urgent_than_another()
    {
        Assert.Equal(AlarmPriority.Medium, Priority(_events.Drift("temperature-mean/caustic", -2, "Cel")));
        Assert.Equal(AlarmPriority.Low, Priority(_events.Drift("air-pressure", -2, "bar(a)")));
    }

    [Fact]
    public void Figures_of_one_family_at_one_station_share_an_alarm_that_ends_with_the_last_of_them()
    {
        Assert.Equal("drift/drain-time@1 N-U", Take(_events.Drift("drain-time/rinse/1@1")));
        Assert.Equal("", Take(_events.Drift("drain-time/caustic-wash/1@1")));
        Assert.Equal("drift/drain-time@2 N-U", Take(_events.Drift("drain-time/rinse/1@2")));
        Assert.Equal("", Take(_events.DriftEnded("drain-time/rinse/1@1")));

        // To its good side it is no alarm.
        Assert.Equal("drift/drain-time@1 U-R", Take(_events.Drift("drain-time/caustic-wash/1@1", size: -2)));
        Assert.Equal("", Take(_events.DriftEnded("drain-time/caustic-wash/1@1")));
    }

    [Fact]
    public void What_drifts_to_its_good_side_or_is_merely_unlike_its_peers_is_no_alarm()
    {
        Assert.Equal("", Take(_events.Drift("temperature-mean/acid", 2, "Cel")));
        Assert.Equal("", Take(_events.Drift("drain-index@1", -0.1, "")));
        var found = _events.Drift("peers/drain-index@1", 2, "");
        Assert.Equal("", Take(found with { Finding = found.Finding with { Chart = Core.Drift.ChartKind.Peers } }));
        Assert.Equal("drift/spray-current N-U", Take(_events.Drift("spray-current/acid", -0.1, "A")));
    }

    [Theory]
    [InlineData("drain-valve@1", "CO2 suffocates", false)]
    [InlineData("drain-valve@1", "burn", true)]
    [InlineData("drain-valve@1", "vent them before you open", true)]
    [InlineData("co2-supply", "CO2 suffocates", true)]
    [InlineData("dosing-tube/sanitiser", "Oxidising sanitiser burns", true)]
    [InlineData("dosing-check-valve/caustic", "Hot caustic", true)]
    [InlineData("heater", "live", true)]
    [InlineData("bath/acid", "local codes", true)]
    public void Where_a_person_would_touch_the_machine_the_text_says_what_can_hurt(string component, string words, bool says)
    {
        var raised = Assert.IsType<AlarmChanged>(Assert.Single(_watch.Accept(_events.Forecast(component, ForecastState.Approaching, 120))));
        Assert.Equal(says, raised.Text.Caution.Contains(words, StringComparison.Ordinal));
        Assert.All([raised.Text.What, raised.Text.Kegs, raised.Text.LookAt], t => Assert.EndsWith(".", t, StringComparison.Ordinal));
    }

    [Fact]
    public void A_forecast_says_how_long_and_why()
    {
        var raised = Assert.IsType<AlarmChanged>(Assert.Single(_watch.Accept(_events.Forecast("drain-valve@1", ForecastState.Approaching, 120))));
        Assert.Equal("w1: drain valve of station 1 is wearing. When this alarm came, it had about 120 cycles left (8 in 10: 60 to 240) until its limit of 20 s.", raised.Text.What);
        Assert.StartsWith("Likely: the drain valve clogs. ", raised.Text.LookAt, StringComparison.Ordinal);
    }

    private AlarmPriority Priority(WashEvent washEvent) => Assert.IsType<AlarmChanged>(Assert.Single(_watch.Accept(washEvent))).Priority;

    private string Take(WashEvent washEvent) => Line(_watch.Accept(washEvent));
}
