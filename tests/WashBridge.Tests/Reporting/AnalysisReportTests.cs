using System.Globalization;
using System.Text.Json;
using System.Xml.Linq;
using CsvHelper;
using WashBridge.Analysing;
using WashBridge.Analysis.Alarms;
using WashBridge.Commands;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Drift;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;
using WashBridge.Reporting;

namespace WashBridge.Tests.Reporting;

public sealed class AnalysisReportTests
{
    private const string Nasty = "<script>alert(1)</script>";

    private static readonly Instant Start = Instant.Parse("2031-03-05T06:00:00Z");
    private static readonly Instant Until = Start + TimeSpan.FromDays(10);

    [Fact]
    public void A_drift_is_one_line_from_when_it_was_found_to_its_end()
    {
        var report = Report(Drift(1, "level/acid"), Drift(2, "drain-index@1"), Drift(3, "drain-index@1", size: 2), DriftEnded(4, "drain-index@1"), Drift(5, "drain-index@1"), DriftEnded(6, "level/acid"));
        Assert.Equal(
            [("level/acid", 1, 1.0, 6), ("drain-index@1", 2, 2.0, 4), ("drain-index@1", 5, 1.0, 0)],
            report.Drifts.Select(d => (d.Finding.Feature, Day(d.FirstFound), d.Finding.Size, d.Ended is null ? 0 : Day(d.Ended.At.Latest))));
        Assert.Equal(2, AnalysisReport.Of([Drift(1, "level/acid"), DriftEnded(2, "level/acid"), Drift(1, "strength/acid"), DriftEnded(5, "strength/acid"), Drift(1, "x")], Start + TimeSpan.FromDays(3), Until, TimeZoneInfo.Utc).Drifts.Count);
    }

    [Fact]
    public void A_setting_that_is_changed_twice_gives_two_lines()
    {
        var report = Report(Deviated(1, 40), Deviated(2, 30), Conformed(3), Deviated(4, 50));
        Assert.Equal([(40, 1, 2), (30, 2, 3), (50, 4, 0)], report.Deviations.Select(d => ((int)d.Finding.Set, Day(d.Since), d.Conformed is { } end ? Day(end) : 0)));
    }

    [Fact]
    public void The_last_forecast_counts_and_its_course_begins_with_the_last_reference()
    {
        var report = Report(
            Forecast(1, "drain-valve@1", 100, now: 1.8),
            Forecast(2, "drain-valve@1", 10, now: 1.0),
            Forecast(3, "drain-valve@1", 60, now: 1.2),
            Forecast(4, "heater", 60, ForecastState.NotEnoughEvidence),
            Forecast(5, "spray-pump", 60, now: 1, left: 100));
        Assert.Equal(["spray-pump", "drain-valve@1", "heater"], report.Forecasts.Select(f => f.Forecast.Component.Key));
        Assert.Equal([(10.0, 1.0), (60.0, 1.2)], report.Forecasts[1].History);
        Assert.Empty(report.Forecasts[2].History);
    }

    [Fact]
    public void The_page_is_well_formed_loads_nothing_and_carries_claim_and_cautions()
    {
        var page = Written("html");
        var document = XDocument.Parse(page.Replace("<!doctype html>", "").Replace("<meta charset=\"utf-8\">", "").Replace("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">", ""));
        Assert.Empty(document.Descendants("script"));
        Assert.DoesNotContain("http", page);
        Assert.DoesNotContain("src=", page);
        Assert.Contains(document.Descendants("p"), p => p.Value == AnalysisWords.Claim);
        Assert.Contains(document.Descendants("p"), p => p.Value == "Caution. " + Words.Caution);
        Assert.Contains(document.Descendants("p"), p => p.Value == "Caution. It burns. " + Nasty);
        Assert.Equal(2, document.Descendants("svg").Count());
    }

    [Fact]
    public void A_picture_shows_course_limit_and_interval_and_says_its_numbers()
    {
        var line = ForecastLine.Of([Forecast(1, "drain-valve@1", 0, now: 1.0, left: 900), Forecast(2, "drain-valve@1", 400, now: 1.5, left: 200)])[0];
        var picture = XElement.Parse(IndexPicture.Draw(line));
        string Path(string type) => picture.Descendants().Single(e => (string?)e.Attribute("class") == type).Attribute("d")!.Value;
        double[] Numbers(string text) => [.. System.Text.RegularExpressions.Regex.Matches(text, "[0-9.]+").Select(m => double.Parse(m.Value, CultureInfo.InvariantCulture))];

        // The axis reaches from cycle 0 to three times the middle of what is left: 400 + 400, whose interval ends at 800.
        Assert.Equal([64, 24, 200, 624], Numbers(Path("axis")));
        double At(double cycles) => 64 + (cycles / 800 * 560);
        var limit = Numbers(Path("limit"))[1];
        var span = Numbers(Path("span"));
        Assert.Equal([At(500), limit, At(800)], span);
        Assert.Equal([At(400), At(600)], [Numbers(Path("ahead"))[0], Numbers(Path("ahead"))[2]]);
        Assert.Equal(limit, Numbers(Path("ahead"))[3]);
        Assert.Contains("now 1.5", (string?)picture.Attribute("aria-label"), StringComparison.Ordinal);
        Assert.Contains("200 cycles (8 in 10: 100 to 400)", picture.Element(picture.Name.Namespace + "title")!.Value, StringComparison.Ordinal);
        Assert.Contains(picture.Descendants("text"), t => t.Value == "limit 2");
    }

    [Fact]
    public void Nothing_is_drawn_of_what_was_not_measured() => Assert.Equal("", IndexPicture.Draw(ForecastLine.Of([Forecast(1, "heater", 10, ForecastState.NotEnoughEvidence)])[0]));

    [Fact]
    public void A_spreadsheet_gets_a_row_for_each_finding()
    {
        using var csv = CsvReader.FromText(Written("csv"), new CsvReaderOptions());
        csv.ReadHeader();
        var rows = new List<(string? Kind, string? Subject, string? State)>();
        while (csv.Read())
        {
            rows.Add((csv.GetString("kind"), csv.GetString("subject"), csv.GetString("state")));
        }

        Assert.Contains(("drift", "drain-index@1", "drifts"), rows);
        Assert.Contains(("forecast", "drain-valve@1", "approaching its limit"), rows);
        Assert.Contains(("setting", "sanitise.hold", "deviates"), rows);
        Assert.Contains(("alarm", "drain-valve@1", "unacknowledged"), rows);
        Assert.Equal(8, rows.Count(r => r.Kind == "alarm-figure"));
    }

    [Fact]
    public void The_document_has_everything()
    {
        using var json = JsonDocument.Parse(Written("json"));
        var root = json.RootElement;
        Assert.Equal("drain-index@1", root.GetProperty("drifts")[0].GetProperty("finding").GetProperty("feature").GetString());
        Assert.Equal(300, root.GetProperty("forecasts")[0].GetProperty("forecast").GetProperty("cyclesLeft").GetDouble());
        Assert.Equal(1, root.GetProperty("figures").GetProperty("announced").GetInt32());
        Assert.Equal(AnalysisWords.Claim, root.GetProperty("claim").GetString());
    }

    [Fact]
    public void The_terminal_shows_the_same_and_takes_no_text_for_markup()
    {
        var table = Written("table");
        Assert.Contains("300 cycles (8 in 10: 150 to 600)", table, StringComparison.Ordinal);
        Assert.Contains("[red]", table, StringComparison.Ordinal);
        Assert.Contains("the drain valve clogs 80 %", table, StringComparison.Ordinal);
        Assert.Contains(Words.Caution, table, StringComparison.Ordinal);
    }

    /// <summary>Causes are ranked at every look; of a part that shows no trend they would only alarm.</summary>
    [Fact]
    public void Nothing_is_suspected_of_a_part_that_is_well()
    {
        var sick = Forecast(1, "drain-valve@1", 400, now: 1.5, left: 300);
        var well = sick with { Forecast = sick.Forecast with { State = ForecastState.NoTrend } };
        Assert.Contains("the drain valve clogs 80 %", Written("table", Report(sick)), StringComparison.Ordinal);
        Assert.Contains("slower by 2 s in 400 cycles", Written("table", Report(sick)), StringComparison.Ordinal);
        foreach (var format in new[] { "table", "html", "csv" })
        {
            Assert.DoesNotContain("the drain valve clogs", Written(format, Report(well)), StringComparison.Ordinal);
        }

        Assert.Equal("forecast for the drain-valve@1: approaching its limit, 300 cycles (8 in 10: 150 to 600) left; likely: the drain valve clogs 80 %", AnalysisWords.Line(sick.Forecast));
    }

    [Fact]
    public void An_alarm_that_is_aside_is_named_with_the_reason_and_asks_for_nothing()
    {
        var alarm = Alarm(4) with { To = AlarmState.SuppressedByDesign, Reason = "drain-sensor@1 tells of it" };
        var table = string.Join(' ', Written("table", Report(alarm)).Split([' ', '\n', '│'], StringSplitOptions.RemoveEmptyEntries));
        Assert.Contains("suppressed", table, StringComparison.Ordinal);
        Assert.Contains("tells of it", table, StringComparison.Ordinal);
        Assert.DoesNotContain("Strainer", table, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("spray-pressure/caustic", "mean pressure during spray")]
    [InlineData("purge-high@3", "mean of the highest pressures of the purge swings, at station 3")]
    [InlineData("peers/drain-index@1", "drain time, as a multiple of what the liquid delivered lets expect, at station 1, against the washer's other stations")]
    [InlineData("group/sprays", "figures of sprays together")]
    [InlineData("group/bath/caustic", "figures of the bath caustic together")]
    [InlineData("unheard-of", "unheard-of")]
    public void Figures_have_titles_for_people(string feature, string title) => Assert.Equal(title, FigureTitle.WithPlace(feature));

    [Fact]
    public void With_nothing_found_every_form_says_so()
    {
        var empty = Report();
        foreach (var format in new[] { "table", "csv", "json", "html" })
        {
            Assert.NotEmpty(Written(format, empty));
        }

        Assert.Contains("Nothing drifts, as far as it could be measured.", Written("table", empty), StringComparison.Ordinal);
        Assert.Contains("No alarm stands.", Written("html", empty), StringComparison.Ordinal);
    }

    [Fact]
    public void Findings_folded_anew_are_compared_with_those_stored()
    {
        WashEvent[] stored = [Drift(1, "a"), Drift(2, "b"), Drift(3, "c")];
        Assert.True(Recomputation.Compare(stored, stored).IsSame);
        Assert.Equal(new Recomputation(1, 1, 1, 1), Recomputation.Compare([Drift(1, "a"), Drift(2, "b", size: 7), Drift(4, "d")], stored));
        Assert.StartsWith("Folded anew: 1 findings as stored, 1 otherwise, 1 not stored, 1 stored but not found again.", new Recomputation(1, 1, 1, 1).Text, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(0.0123456, "0.0123")]
    [InlineData(1.23456, "1.23")]
    [InlineData(-12.3456, "-12.3")]
    [InlineData(1234.56, "1235")]
    [InlineData(0, "0")]
    public void Numbers_have_the_figures_that_count(double number, string text) => Assert.Equal(text, AnalysisWords.Number(number));

    private static string Written(string format, AnalysisReport? report = null)
    {
        using var output = new StringWriter();
        AnalyseCommand.Write(report ?? Full(), format, output);
        return output.ToString();
    }

    private static AnalysisReport Full() => Report(
        Drift(1, "drain-index@1"),
        Forecast(1, "drain-valve@1", 100, now: 1.2, left: 900),
        Forecast(2, "drain-valve@1", 400, now: 1.5, left: 300),
        Forecast(2, "heater", 400, ForecastState.NoTrend, now: 0.9),
        Forecast(3, "spray-pump", 20, ForecastState.NotEnoughEvidence),
        Deviated(3, 40),
        Alarm(4)) with
    { Recomputed = new Recomputation(9, 0, 0, 0) };

    private static AnalysisReport Report(params WashEvent[] findings) => AnalysisReport.Of(findings, Start, Until, TimeZoneInfo.Utc);

    private static int Day(Instant at) => (int)(at - Start).TotalDays;

    private static TimeBounds At(int day) => TimeBounds.At(Start + TimeSpan.FromDays(day));

    private static DriftFound Drift(int day, string feature, double size = 1) => new()
    {
        Id = $"d/{day}/{feature}", Washer = "w1", At = At(day),
        Finding = new DriftFinding
        {
            Feature = feature, Chart = ChartKind.Cusum, Unit = "s", Centre = 10, Spread = 1, ReferenceCycles = 200, Size = size, SizeUncertainty = 0.2,
            Onset = new CycleSpan("c1", Start, Start, Start), CyclesTouched = 3, Kegs = ["K-[red]1[/]"], KegCount = 1, FalseAlarmEvery = 10_000,
        },
    };

    private static DriftEnded DriftEnded(int day, string feature) => new() { Id = $"e/{day}/{feature}", Washer = "w1", At = At(day), Feature = feature, Reason = "back" };

    private static SetpointDeviated Deviated(int day, double set) => new() { Id = $"s/{day}", Washer = "w1", At = At(day), Finding = new SetpointFinding("sanitise.hold", "s", 45, set, "full-wash", 1) };

    private static SetpointConformed Conformed(int day) => new() { Id = $"c/{day}", Washer = "w1", At = At(day), Setpoint = "sanitise.hold" };

    private static ForecastMade Forecast(int day, string component, int cycles, ForecastState state = ForecastState.Approaching, double? now = null, double? left = null) => new()
    {
        Id = $"f/{day}/{component}", Washer = "w1", At = At(day),
        Forecast = new Forecast
        {
            Component = Component.Parse(component), State = state, Index = "an-index", Unit = "s", Now = now, Limit = now is null ? null : 2, LimitSource = "the washer's time-out",
            Cycles = cycles, CyclesLeft = left, CyclesLeftLower = left / 2, CyclesLeftUpper = left * 2,
            Causes = left is null ? [] : [new Cause("clogging-valve", "the drain valve clogs", 0.8, ["drains grew slower " + Nasty], ["air is as usual"])],
            Evidence = ["slower by 2 s in 400 cycles"],
        },
    };

    private static AlarmChanged Alarm(int day) => new()
    {
        Id = $"a/{day}", Washer = "w1", At = At(day), Alarm = "drain-valve@1", From = AlarmState.Normal, To = AlarmState.Unacknowledged, Priority = AlarmPriority.Medium, Since = At(day).Latest,
        Text = new AlarmText { What = "The drain valve is wearing.", Kegs = "Kegs drain slowly.", LookAt = "Strainer.", Caution = "It burns. " + Nasty },
    };
}
