using WashBridge.Core.Cycles;
using WashBridge.Core.Upkeep;
using WashBridge.Reporting;
using WashBridge.Web;
using WashBridge.Web.Pages.Upkeeping;
using WashBridge.Web.Trends;

namespace WashBridge.Tests.Web.Trends;

public sealed class UpkeepTests
{
    private static readonly Component Heater = new(ComponentKind.Heater, "caustic");
    private static readonly Component Pump = new(ComponentKind.SprayPump);
    private static readonly Component Gas = new(ComponentKind.Co2Supply);

    [Fact]
    public void What_stops_the_line_first_comes_first_and_not_enough_evidence_is_an_answer()
    {
        var findings = Findings(
            Washing.Forecast(5, Heater, ForecastState.Approaching, 300),
            Washing.Forecast(5, Washing.Valve2, ForecastState.Approaching, 100),
            Washing.Forecast(5, Pump, ForecastState.Reached),
            Washing.Forecast(5, Gas, ForecastState.NotEnoughEvidence));
        var list = UpkeepList.Of(findings, null);
        Assert.Equal(["spray-pump", "drain-valve@2", "heater/caustic"], list.Coming.Select(l => l.Forecast.Component.Key));
        Assert.Equal("co2-supply", Assert.Single(list.Unknown).Forecast.Component.Key);
        Assert.Empty(UpkeepList.Of(findings, "yard").Coming);
    }

    [Theory]
    [InlineData("drain-index@2", "", "drain time for the liquid, as a ratio to the reference: 1.69, limit 2.45 (the washer's own time-out)")]
    [InlineData("co2-rest", "bar(a)", "CO2 supply pressure at rest: 1.69 bar abs., limit 2.45 bar abs. (the washer's own time-out)")]
    [InlineData("of-another-version", "", "of-another-version: 1.69, limit 2.45 (the washer's own time-out)")]
    public void An_index_is_told_by_what_is_measured_with_its_unit(string index, string unit, string expected) =>
        Assert.Equal(expected, IndexWords.Of(Washing.Forecast(5, Gas, ForecastState.Approaching).Forecast with { Index = index, Now = 1.69, Limit = 2.45, Unit = unit, LimitSource = "the washer's own time-out" }));

    [Theory]
    [InlineData(40, true, ForecastTest.Earlier)]
    [InlineData(50, true, ForecastTest.Within)]
    [InlineData(200, true, ForecastTest.Within)]
    [InlineData(201, true, ForecastTest.Later)]
    [InlineData(201, false, ForecastTest.Later)]
    [InlineData(100, false, ForecastTest.Untested)]
    [InlineData(10, false, ForecastTest.Untested)]
    public void A_forecast_that_was_not_put_to_the_test_is_neither_right_nor_wrong(int run, bool hadFailed, ForecastTest expected) =>
        Assert.Equal(expected, ForecastRecord.Test(Score(run), hadFailed));

    [Fact]
    public void A_part_whose_index_had_reached_its_limit_counts_as_failed_though_the_line_ran()
    {
        Assert.Equal(ForecastTest.Within, ForecastRecord.Test(Score(100) with { Index = 3.1 }, hadFailed: false));
        Assert.Equal(ForecastTest.Untested, ForecastRecord.Test(Score(100) with { Index = 2.9 }, hadFailed: false));
    }

    [Fact]
    public void The_hit_rate_counts_only_what_was_tested_and_has_an_interval()
    {
        var work = Enumerable.Range(0, 10).Select(n => Washing.Work(n, Washing.Valve2, hadFailed: n < 8)).ToList();
        var record = ForecastRecord.Of(work.Select((w, n) => Scored(w, n == 0 ? 40 : 100)), work.ToDictionary(w => w.Id));
        Assert.Equal((7, 8, 2), (record.Held, record.Tested, record.Untested));
        // Clopper and Pearson (1934): 7 of 8, 90 %: 0.529 to 0.994.
        Assert.Equal((0.529, 0.994), (Math.Round(record.Share!.Value.Lower, 3), Math.Round(record.Share.Value.Upper, 3)));
        Assert.Null(ForecastRecord.Of([], work.ToDictionary(w => w.Id)).Share);
    }

    [Fact]
    public void The_band_of_a_forecast_ends_at_the_limit_at_both_ends_of_its_interval()
    {
        var line = ForecastLine.OfOne([Washing.Forecast(10, Washing.Valve2, ForecastState.Approaching, 100, now: 1), Washing.Forecast(20, Washing.Valve2, ForecastState.Approaching, 100, now: 2)]);
        var ahead = IndexChart.Ahead(line);
        Assert.Equal([20.0, 70, 120, 220], ahead.Select(a => a.Cycles));
        Assert.Equal([2, 2.5, 3, 3], ahead.Select(a => a.Middle));
        Assert.Equal([2, 3, 3, 3], ahead.Select(a => a.Fast));
        Assert.Equal([2, 2.25, 2.5, 3], ahead.Select(a => a.Slow));
    }

    [Fact]
    public void A_far_end_does_not_press_the_course_into_a_corner()
    {
        var made = Washing.Forecast(20, Washing.Valve2, ForecastState.Approaching, 100, now: 2);
        made = made with { Forecast = made.Forecast with { CyclesLeftUpper = 9000 } };
        Assert.Equal(320, IndexChart.Ahead(ForecastLine.OfOne([made]))[^1].Cycles);
        Assert.Empty(IndexChart.Ahead(ForecastLine.OfOne([Washing.Forecast(20, Washing.Valve2, ForecastState.Reached)])));
    }

    [Fact]
    public void A_time_without_zone_is_the_sites_and_one_that_clocks_skip_is_the_first_after_it()
    {
        var berlin = TimeZoneInfo.FindSystemTimeZoneById("Europe/Berlin");
        Assert.Equal("2031-03-05T14:00:00+01:00", LocalTime.WithZone("2031-03-05T14:00", berlin));
        Assert.Equal("2031-03-30T03:00:00+02:00", LocalTime.WithZone("2031-03-30T02:30", berlin));
        Assert.Equal("2031-10-26T02:30:00+02:00", LocalTime.WithZone("2031-10-26T02:30", berlin));
        Assert.Equal("half past", LocalTime.WithZone(" half past ", berlin));
        Assert.Null(LocalTime.WithZone(" ", berlin));
    }

    private static ForecastScore Score(int run) => new(Washing.Forecast(5, Washing.Valve2, ForecastState.Approaching, 100).Forecast, Washing.At(5), run, null, "");

    private static ForecastScored Scored(MaintenanceRecorded work, int run) => new() { Id = $"{work.Id}/score/drain-valve@2", Washer = "north", At = work.At, Score = Score(run) };

    private static Findings Findings(params WashEvent[] findings) => new([], ForecastLine.Of(findings), [], []);
}
