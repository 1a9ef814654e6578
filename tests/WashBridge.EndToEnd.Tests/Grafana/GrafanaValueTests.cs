using System.Text.Json;
using WashBridge.Analysing;
using WashBridge.Analysis.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;
using WashBridge.Core.Verdicts;

namespace WashBridge.EndToEnd.Tests.Grafana;

/// <summary>What a panel shows and an alert rule decides by is what the historian holds.</summary>
[Collection(nameof(Brewery))]
public sealed class GrafanaValueTests(Brewery brewery)
{
    private Instant From => brewery.Begin - TimeSpan.FromHours(17);

    private Instant To => brewery.End + TimeSpan.FromMinutes(5);

    [Fact]
    public async Task Kegs_are_counted_by_verdict()
    {
        var kegs = brewery.Events<KegJudged>();
        var counts = new[] { Verdict.Met, Verdict.NotMet, Verdict.NotProven }.Select(v => (double)kegs.Count(k => k.Verdict.Verdict == v)).ToList();
        Assert.All(counts, c => Assert.True(c > 0));
        string[] columns = ["met", "not met", "not proven"];

        var total = await AskAsync("washbridge-quality", "Kegs by verdict");
        Assert.Equal(counts, columns.Select(total.Number));
        Assert.Equal(100 * counts[0] / kegs.Count, (await AskAsync("washbridge-quality", "Share of kegs that met")).Number("met"), 1e-9);
        foreach (var (dashboard, title) in new[] { ("washbridge-quality", "Kegs by verdict, in the course of time"), ("washbridge-now", "Kegs washed, by verdict") })
        {
            var buckets = (await AskAsync(dashboard, title, interval: "10m")).Rows;
            Assert.True(buckets.Count > 3);
            Assert.Equal(counts, columns.Select(c => buckets.Sum(b => b.Figure(c) ?? 0)));
        }

        var atStation = await AskAsync("washbridge-quality", "Kegs by verdict", washer: "north", station: "2");
        Assert.Equal(kegs.Count(k => k is { Washer: "north", Verdict: { Station: 2, Verdict: Verdict.Met } }), atStation.Number("met"));
    }

    [Fact]
    public async Task Kegs_that_need_a_decision_are_those_that_are_not_met()
    {
        var open = brewery.Events<KegJudged>().Where(k => k.Verdict.Verdict != Verdict.Met).ToList();
        var rows = (await AskAsync("washbridge-quality", "Kegs that need a decision")).Rows;
        Assert.Equal(
            open.Select(k => (k.Verdict.KegId, k.Verdict.CycleId, k.Washer, $"{k.Verdict.Station}", k.Verdict.Verdict == Verdict.NotMet ? "not-met" : "not-proven", (double?)k.Verdict.Results.Count(r => r.Verdict == Verdict.Met), (double?)k.Verdict.Results.Count)).Order(),
            rows.Select(r => (r.Text("keg"), r.Text("cycle"), r.Text("washer"), r.Text("station"), r.Text("verdict"), r.Figure("met"), r.Figure("of"))).Order());
        Assert.Equal(rows.Select(r => r["time"].GetInt64()).OrderDescending(), rows.Select(r => r["time"].GetInt64()));

        var results = open.SelectMany(k => k.Verdict.Results.Where(r => r.Verdict != Verdict.Met).Select(r => (k.Verdict.KegId, r.Requirement, r.Lower, r.Upper, r.Limit, r.Evidence))).Order();
        var evidence = (await AskAsync("washbridge-quality", "Requirements that were missed or left open, with their evidence")).Rows;
        Assert.Equal(results, evidence.Select(r => (r.Text("keg"), r.Text("requirement"), r.Figure("lower"), r.Figure("upper"), r.Figure("limit"), r.Text("evidence"))).Order());
    }

    [Fact]
    public async Task Requirements_are_counted_by_washer()
    {
        var expected = brewery.Events<KegJudged>().SelectMany(k => k.Verdict.Results.Select(r => (k.Washer, Result: r))).GroupBy(r => (r.Washer, r.Result.Requirement))
            .Select(g => (g.Key.Washer, g.Key.Requirement, (double?)g.Count(r => r.Result.Verdict == Verdict.NotMet), (double?)g.Count(r => r.Result.Verdict == Verdict.NotProven), (double?)g.Count()));
        var rows = (await AskAsync("washbridge-quality", "What was missed or left open")).Rows;
        Assert.Equal(expected.Order(), rows.Select(r => (r.Text("washer"), r.Text("requirement"), r.Figure("not met"), r.Figure("not proven"), r.Figure("judged"))).Order());
    }

    [Fact]
    public async Task The_last_step_of_a_washer_is_the_last_that_began()
    {
        var expected = brewery.Events<StepStarted>().GroupBy(s => s.Washer).Select(g => g.OrderBy(s => s.At.Latest).Last()).Select(s => (s.Washer, s.CycleId!, $"{s.Phase}/{s.Pass}/", s.At.Latest.UnixMicroseconds));
        var rows = (await AskAsync("washbridge-now", "Last step that began")).Rows;
        Assert.Equal(expected.Order(), rows.Select(r => (r.Text("washer"), r.Text("cycle"), r.Text("step")[..(r.Text("step").LastIndexOf('/') + 1)], r["time"].GetInt64() / 1000)).Order());
        Assert.Equal(brewery.Events<StepStarted>().Count, (await AskAsync("washbridge-now", "Steps")).Rows.Count);
    }

    [Fact]
    public async Task Alarms_that_stand_are_those_of_the_alarm_board_and_no_others()
    {
        var board = AlarmBoard.Read(brewery.Historian);
        var standing = board.All.Where(a => AlarmLifeCycle.Stands(a.To)).Select(a => (a.Washer, a.Alarm, a.Text.What, $"{a.Priority}".ToLowerInvariant())).ToList();
        Assert.NotEmpty(standing);
        Assert.True(standing.Count < board.All.Count(), "an alarm should be over");
        var rows = (await AskAsync("washbridge-now", "Alarms that stand")).Rows;
        Assert.Equal(standing.Order(), rows.Select(r => (r.Text("washer"), r.Text("alarm"), r.Text("what"), r.Text("priority"))).Order());
    }

    /// <summary>All cells of a row are of one forecast: a number of cycles left must not outlive the forecast that gave it.</summary>
    [Fact]
    public async Task Forecasts_are_the_latest_of_each_component()
    {
        var all = brewery.Events<ForecastMade>();
        var latest = all.GroupBy(f => (f.Washer, f.Forecast.Component.Key)).Select(g => g.OrderBy(f => f.At.Latest).Last()).ToList();
        Assert.Contains(latest, l => l.Forecast.CyclesLeft is null && all.Any(f => f.Washer == l.Washer && f.Forecast.Component == l.Forecast.Component && f.Forecast.CyclesLeft is not null));
        AssertForecasts(latest, (await AskAsync("washbridge-drains", "Cycles left of every component")).Rows);
        AssertForecasts([.. latest.Where(f => f.Forecast.Component.Kind == ComponentKind.Bath)], (await AskAsync("washbridge-baths", "Cycles left of every bath")).Rows);

        // While the valve was wearing, with its numbers.
        var wearing = all.Last(f => f.Forecast is { State: ForecastState.Approaching, Component.Kind: ComponentKind.DrainValve } && f.At.Latest < brewery.Begin);
        var then = (await AskAsync("washbridge-drains", "Cycles left of every component", to: wearing.At.Latest)).Rows.Single(r => r.Text("washer") == wearing.Washer && r.Text("component") == wearing.Forecast.Component.Key);
        Assert.NotNull(wearing.Forecast.CyclesLeft);
        AssertForecasts([wearing], [then]);
    }

    [Fact]
    public async Task An_index_is_drawn_with_its_limit()
    {
        var last = brewery.Events<ForecastMade>().Where(f => f is { Forecast: { Component.Kind: ComponentKind.DrainValve, Now: not null, Limit: not null } }).OrderBy(f => f.At.Latest).GroupBy(f => (f.Washer, f.Forecast.Component.Key)).ToDictionary(g => g.Key, g => g.Last().Forecast);
        foreach (var series in (await AskAsync("washbridge-drains", "Drain valves: index against its limit", interval: "1000d")).Series)
        {
            var forecast = last[(series.Tags["washer"], series.Tags["component"])];
            Assert.Equal((forecast.Now, forecast.Limit), (series.Rows[^1].Figure("now"), series.Rows[^1].Figure("limit")));
        }
    }

    [Fact]
    public async Task The_slowest_drain_of_each_station_is_drawn()
    {
        var slowest = brewery.Events<DrainMeasured>().GroupBy(d => (d.Washer, $"{d.Station}")).ToDictionary(g => g.Key, g => g.Max(d => d.Drain.Time.Lower.TotalSeconds));
        var series = (await AskAsync("washbridge-drains", "Slowest drain of each station")).Series;
        Assert.Equal(slowest.Count, series.Count);
        Assert.All(series, s => Assert.Equal(slowest[(s.Tags["washer"], s.Tags["station"])], s.Rows.Max(r => r.Figure("max"))));
        Assert.Equal(2, (await AskAsync("washbridge-drains", "Slowest drain of each station", washer: "north")).Series.Count);
    }

    [Theory]
    [InlineData("washbridge-drains", "Pressure while spraying", "spray-pressure")]
    [InlineData("washbridge-drains", "Current of the spray pump", "spray-current")]
    [InlineData("washbridge-baths", "Strength", "strength")]
    [InlineData("washbridge-baths", "Temperature", "temperature-mean")]
    [InlineData("washbridge-baths", "Level", "level")]
    [InlineData("washbridge-baths", "Dosing", "dosing-time")]
    [InlineData("washbridge-baths", "Heating", "heater-time")]
    [InlineData("washbridge-baths", "Rise of strength for a second of dosing", "dosing-response")]
    public async Task Figures_are_drawn_as_their_means(string dashboard, string title, string family)
    {
        var means = brewery.Events<CycleMeasured>().SelectMany(c => c.Features.Figures.Where(f => f.Family == family).Select(f => (c.Washer, f.Name, f.Value)))
            .GroupBy(f => (f.Washer, f.Name)).ToDictionary(g => g.Key, g => g.Average(f => f.Value));
        var series = (await AskAsync(dashboard, title, interval: "10000d")).Series;
        Assert.Equal(means.Count, series.Count);
        Assert.All(series, s => Assert.Equal(means[(s.Tags["washer"], s.Tags["figure"])], Assert.Single(s.Rows).Figure("mean")!.Value, 1e-9));
    }

    [Fact]
    public async Task What_people_recorded_is_listed_with_their_words()
    {
        var decisions = (await AskAsync("washbridge-quality", "Decisions")).Rows;
        Assert.Equal(["rewash", "hold"], decisions.Select(r => r.Text("decision")));
        Assert.Equal(brewery.Events<KegDecided>().Select(d => (d.KegId, d.Act.By, d.Act.Reason)).Order(), decisions.Select(r => (r.Text("keg"), r.Text("by"), r.Text("reason"))).Order());
        var titration = Assert.Single((await AskAsync("washbridge-baths", "Titrations")).Rows);
        Assert.Equal(("north", "caustic", 1.6, "%"), (titration.Text("washer"), titration.Text("bath"), titration.Figure("strength"), titration.Text("unit")));
        Assert.Equal("sanitiser", Assert.Single((await AskAsync("washbridge-baths", "Baths made up anew")).Rows).Text("bath"));
        Assert.Equal("clean", Assert.Single((await AskAsync("washbridge-quality", "Kegs that were opened")).Rows).Text("found"));
        Assert.Equal("strainer cleaned", Assert.Single((await AskAsync("washbridge-drains", "Work that was recorded")).Rows).Text("note"));
        Assert.Equal("1.7", Assert.Single((await AskAsync("washbridge-data", "Corrections of records")).Rows).Text("is"));
        var score = brewery.Events<ForecastScored>().Single().Score;
        var shown = Assert.Single((await AskAsync("washbridge-drains", "How forecasts stood the test")).Rows);
        Assert.Equal((score.CyclesRun, score.Forecast.CyclesLeft, score.Outcome), ((int)shown.Figure("cycles run")!, shown.Figure("said"), shown.Text("outcome")));
    }

    [Fact]
    public async Task What_drifts_is_what_was_found_and_has_not_ended()
    {
        var ended = brewery.Events<DriftEnded>();
        var standing = brewery.Events<DriftFound>().GroupBy(d => (d.Washer, d.Finding.Feature)).Select(g => g.OrderBy(d => d.At.Latest).Last())
            .Where(d => !ended.Any(e => e.Washer == d.Washer && e.Feature == d.Finding.Feature && e.At.Latest > d.At.Latest)).ToList();
        Assert.NotEmpty(standing);
        var rows = (await AskAsync("washbridge-drains", "Figures that drift")).Rows;
        Assert.Equal(
            standing.Select(d => (d.Washer, d.Finding.Feature, (double?)d.Finding.Size, (double?)d.Finding.KegCount, d.Finding.Onset.At.ToString())).Order(),
            rows.Select(r => (r.Text("washer"), r.Text("feature"), r.Figure("size"), r.Figure("kegs since"), r.Text("onset"))).Order());
    }

    [Fact]
    public async Task Cycles_outages_clocks_and_settings_are_those_of_the_log()
    {
        var cycles = brewery.Events<CycleEnded>();
        var broken = cycles.Where(c => c.Cycle.Outcome != CycleOutcome.Completed).Select(c => (c.Washer, c.Cycle.Id)).Order();
        Assert.NotEmpty(broken);
        Assert.Equal(broken, (await AskAsync("washbridge-now", "Cycles that did not complete")).Rows.Select(r => (r.Text("washer"), r.Text("cycle"))).Order());
        Assert.Equal(cycles.Sum(c => c.Cycle.Gaps.Count), (await AskAsync("washbridge-data", "Gaps within cycles")).Rows.Sum(r => r.Figure("sum")));

        var outages = brewery.Events<SourceLost>().Select(e => (e.Washer, $"{e.Group}", "lost")).Concat(brewery.Events<SourceRestored>().Select(e => (e.Washer, $"{e.Group}", "restored")));
        Assert.Equal(outages.Order(), (await AskAsync("washbridge-data", "Controllers lost and restored")).Rows.Select(r => (r.Text("washer"), r.Text("group"), r.Text("state"))).Order());
        Assert.Equal(brewery.Events<ClockStepped>().Select(c => (double?)c.Shift?.TotalSeconds), (await AskAsync("washbridge-data", "Clocks that were set")).Rows.Select(r => r.Figure("by")));

        var deviated = brewery.Events<SetpointDeviated>().Select(d => (d.Washer, d.Finding.Setpoint, (double?)d.Finding.Approved, (double?)d.Finding.Set)).Order();
        Assert.Equal(deviated, (await AskAsync("washbridge-quality", "Settings that left their approved value")).Rows.Where(r => r.Text("state") == "deviated").Select(r => (r.Text("washer"), r.Text("setpoint"), r.Figure("approved"), r.Figure("set"))).Order());
    }

    [Fact]
    public async Task The_bridge_is_shown_as_it_stood_last()
    {
        var (first, last) = (brewery.Told[0], brewery.Told[^1]);
        Assert.Equal((double?)last.Space.Free, (await AskAsync("washbridge-data", "Free on the historian's disk")).Number("free"));
        Assert.Equal(last.Space.Bytes, (await AskAsync("washbridge-data", "Historian")).Number("size"));
        var followers = (await AskAsync("washbridge-data", "Who follows the log, and how far behind")).Rows;
        Assert.Equal(
            last.Followers.Select(f => (f.Name, (double?)f.Lag.Entries, f.Lag.Oldest is { } oldest ? (last.At - oldest).TotalSeconds : (double?)0)),
            followers.Select(r => (r.Text("follower"), r.Figure("entries"), r.Figure("late"))).Order());

        var read = (await AskAsync("washbridge-now", "Is each washer read?", interval: "1m")).Series.ToDictionary(s => s.Tags["washer"], s => s.Rows[^1].Figure("sum"));
        Assert.Equal(420, read["north"]);
        Assert.Equal(0, read["yard"]);
        var done = (await AskAsync("washbridge-data", "Reads that brought something")).Rows.GroupBy(r => r.Text("washer")).ToDictionary(g => g.Key, g => g.Sum(r => r.Figure("sum")));
        Assert.Equal(last.Reads.GroupBy(r => r.Washer).ToDictionary(g => g.Key, g => (double?)g.Sum(r => r.Counts.Done)), done);

        // 10,000 bytes a minute.
        var growth = (await AskAsync("washbridge-data", "Growth of the historian in a day", interval: "1m")).Rows;
        Assert.All(growth, r => Assert.Equal(10_000 * 60 * 24, r.Figure("growth in a day")!.Value, 1));
        Assert.Equal(brewery.Told.Count - 1, growth.Count);
        Assert.Equal(2, (await AskAsync("washbridge-data", "Frames that wait to be committed", interval: "1h")).Rows.Max(r => r.Figure("frames")));
        Assert.True(last.Space.Bytes > first.Space.Bytes);
    }

    [Fact]
    public async Task A_silent_bridge_has_no_series_and_that_is_an_alarm()
    {
        Assert.Empty(await FiringAsync("washbridge-silent", brewery.Told[^1].At));
        var (rule, asked) = Asked.Rule("washbridge-silent");
        var later = brewery.Told[^1].At + TimeSpan.FromMinutes(11);
        Assert.Empty(Answer.Parse(await brewery.AskAsync(asked.FilledIn(later - TimeSpan.FromMinutes(10), later)), asked.Query).Series);
        Assert.Equal("Alerting", rule.GetProperty("noDataState").GetString());
        Assert.All(Asked.Rules.Where(r => r.GetProperty("uid").GetString() != "washbridge-silent"), r => Assert.Equal("OK", r.GetProperty("noDataState").GetString()));
    }

    [Fact]
    public async Task A_washer_that_is_not_read_fires_and_the_other_does_not()
    {
        Assert.Equal(["yard"], (await FiringAsync("washbridge-not-read", brewery.Told[^1].At)).Keys);
        Assert.Empty(await FiringAsync("washbridge-not-read", brewery.Told[4].At));
    }

    [Fact]
    public async Task Kegs_that_did_not_meet_their_recipe_fire_with_their_number()
    {
        var missed = brewery.Events<KegJudged>().Where(k => k.Verdict.Verdict == Verdict.NotMet).ToList();
        var at = missed.Max(k => k.At.Latest);
        var expected = missed.Where(k => k.At.Latest > at - TimeSpan.FromHours(1)).GroupBy(k => k.Washer).ToDictionary(g => g.Key, g => (double)g.Count());
        Assert.Equal(expected, await FiringAsync("washbridge-not-met", at));
        Assert.Empty(await FiringAsync("washbridge-not-met", brewery.Begin));

        var kegs = brewery.Events<KegJudged>().Where(k => k.At.Latest <= brewery.End).GroupBy(k => k.Washer).ToDictionary(g => g.Key, g => 100 * g.Average(k => k.Verdict.Verdict == Verdict.NotProven ? 1.0 : 0));
        var unproven = await FiringAsync("washbridge-not-proven", brewery.End);
        Assert.Equal(kegs.Where(k => k.Value > 20).Select(k => k.Key).Order(), unproven.Keys.Order());
        Assert.All(unproven, u => Assert.Equal(kegs[u.Key], u.Value, 1e-9));
    }

    [Fact]
    public async Task A_drain_valve_that_will_fail_soon_fires_until_the_work_is_recorded()
    {
        var wearing = brewery.Events<ForecastMade>().Last(f => f.Forecast is { State: ForecastState.Approaching, Component.Kind: ComponentKind.DrainValve, CyclesLeftLower: < 200 } && f.At.Latest < brewery.Begin);
        var firing = await FiringAsync("washbridge-valve", wearing.At.Latest, "component");
        Assert.Equal(wearing.Forecast.CyclesLeftLower, firing[wearing.Forecast.Component.Key]);
        var now = brewery.Events<ForecastMade>().Where(f => f.Forecast.Component.Kind == ComponentKind.DrainValve).GroupBy(f => (f.Washer, f.Forecast.Component.Key)).Select(g => g.OrderBy(f => f.At.Latest).Last().Forecast).Where(f => f.CyclesLeftLower < 200);
        Assert.Equal(now.Select(f => f.Component.Key).Order(), (await FiringAsync("washbridge-valve", To, "component")).Keys.Order());
        Assert.DoesNotContain(wearing.Forecast.Component.Key, (await FiringAsync("washbridge-valve", To, "component")).Keys);
    }

    [Fact]
    public async Task A_backlog_and_a_full_disk_fire()
    {
        var last = brewery.Told[^1];
        Assert.Equal(["influx/plant"], (await FiringAsync("washbridge-backlog", last.At, "follower")).Keys);
        Assert.Empty(await FiringAsync("washbridge-backlog", brewery.Told[4].At, "follower"));
        Assert.Empty(await FiringAsync("washbridge-disk", last.At, "site"));
        var (rule, asked) = Asked.Rule("washbridge-disk");
        Assert.Equal((double?)last.Space.Free, Answer.Parse(await brewery.AskAsync(asked.FilledIn(last.At - TimeSpan.FromMinutes(10), last.At)), asked.Query).Number("last"));
        Assert.Equal(5e9, Limit(rule).Value);
        Assert.Equal("lt", Limit(rule).Kind);
    }

    /// <summary>What Grafana would call somebody for: the last number of each series, held against the limit.</summary>
    private async Task<Dictionary<string, double>> FiringAsync(string uid, Instant at, string by = "washer")
    {
        var (rule, asked) = Asked.Rule(uid);
        var from = at - TimeSpan.FromSeconds(rule.GetProperty("data")[0].GetProperty("relativeTimeRange").GetProperty("from").GetInt32());
        var (kind, limit) = Limit(rule);
        return Answer.Parse(await brewery.AskAsync(asked.FilledIn(from, at)), asked.Query).Series
            .Select(s => (Key: s.Tags.GetValueOrDefault(by, ""), Number: s.Rows[^1].Figure(s.Columns[1])))
            .Where(s => s.Number is { } number && (kind == "gt" ? number > limit : number < limit))
            .ToDictionary(s => s.Key, s => s.Number!.Value);
    }

    private static (string Kind, double Value) Limit(JsonElement rule)
    {
        var evaluator = rule.GetProperty("data")[2].GetProperty("model").GetProperty("conditions")[0].GetProperty("evaluator");
        return (evaluator.GetProperty("type").GetString()!, evaluator.GetProperty("params")[0].GetDouble());
    }

    private static void AssertForecasts(IReadOnlyList<ForecastMade> expected, IReadOnlyList<IReadOnlyDictionary<string, JsonElement>> rows) => Assert.Equal(
        expected.Select(f => (f.Washer, f.Forecast.Component.Key, (double?)f.Forecast.Cycles, f.Forecast.CyclesLeft, f.Forecast.CyclesLeftLower, f.Forecast.CyclesLeftUpper, f.Forecast.Now)).Order(),
        rows.Select(r => (r.Text("washer"), r.Text("component"), r.Figure("cycles run"), r.Figure("cycles left"), r.Figure("at least"), r.Figure("at most"), r.Figure("now"))).Order());

    private async Task<Answer> AskAsync(string dashboard, string title, string interval = "1h", string washer = ".*", string station = ".*", Instant? to = null)
    {
        var query = Asked.Panel(dashboard, title).FilledIn(From, to ?? To, interval, washer: washer, station: station);
        return Answer.Parse(await brewery.AskAsync(query), query);
    }
}
