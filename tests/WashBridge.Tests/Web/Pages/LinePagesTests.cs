using System.Net;
using System.Text.RegularExpressions;
using Microsoft.Extensions.DependencyInjection;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Web.Live;

namespace WashBridge.Tests.Web.Pages;

/// <summary>The pages for the line: now, the wall screen, alarms, data and setup check, as they are served.</summary>
public sealed partial class LinePagesTests : IAsyncLifetime
{
    private WebTrial _trial = null!;
    private HttpClient _client = null!;

    private Instant Now => Instant.Floor(_trial.Time.GetUtcNow());

    public async ValueTask InitializeAsync()
    {
        _trial = await WebTrial.StartAsync();
        _client = _trial.Client();
    }

    public async ValueTask DisposeAsync()
    {
        _client.Dispose();
        await _trial.DisposeAsync();
    }

    [Fact]
    public async Task Now_tells_phase_time_and_what_the_recipe_asks()
    {
        Read("north");
        Tell(Started(60), Step("sanitise", StepKind.WallSpray, 30), Step("sanitise", StepKind.Hold, 20));
        var page = await TextAsync("/");
        Assert.Contains("North hall, two stations Washing", page);
        Assert.Contains("sanitise hold", page);
        Assert.Contains("Phase 6 of 8, 30 s in this phase", page);
        Assert.Contains("Sanitiser stands in the keg 20 s of at least 34 s so far", page);
        Assert.Contains("This cycle has run for 1 min 00 s", page);
        Assert.Contains("No keg judged yet", page);
        Assert.Contains("Last change not recorded", page);
    }

    [Fact]
    public async Task Now_says_what_cannot_be_read_since_when_and_why()
    {
        _trial.Historian.AppendFrames([Frame("north", 0, 32), Frame("north", 0, 30) with { Kind = FrameKind.Failed, Reason = "the cable is out" }]);
        Follow();
        var page = await TextAsync("/");
        Assert.Contains("North hall, two stations Not read", page);
        Assert.Contains("Not read: nothing since 05:59:28 +00:00. Reason: the cable is out", page);
        Assert.Contains("Yard, four stations Not read", page);
        Assert.Contains("nothing came yet. No reason was told.", page);
    }

    [Fact]
    public async Task Now_tells_why_the_last_keg_is_not_clear_and_takes_no_markup_from_its_id()
    {
        Read("north");
        Tell(new KegJudged
        {
            Id = "j", Washer = "north", CycleId = "c", At = At(5),
            Verdict = new KegVerdict
            {
                KegId = "<script>alert(1)</script>", KegIdSource = KegIdSource.Scan, CycleId = "c", Washer = "north", Station = 2, Recipe = "full-wash", RecipeVersion = 1, Rule = DecisionRule.Bounds, Verdict = Verdict.NotMet,
                Results =
                [
                    new RequirementResult { Requirement = "oxygen", Verdict = Verdict.NotProven, Evidence = "no pressure was read" },
                    new RequirementResult { Requirement = "sanitiser-hold", Verdict = Verdict.NotMet, Evidence = "it lasted 21 s" },
                ],
            },
        });
        var html = await _client.GetStringAsync("/", WebTrial.Cancellation);
        Assert.DoesNotContain("<script>alert", html);
        Assert.Contains("&lt;script&gt;alert(1)&lt;/script&gt;", html);
        Assert.Contains("Sanitiser stands in the keg: it lasted 21 s", Text(html));
    }

    [Fact]
    public async Task The_wall_has_no_navigation_and_shows_alarms_clock_and_every_washer()
    {
        Read("north");
        Tell(Alarm(AlarmState.Unacknowledged));
        var html = await _client.GetStringAsync("/wall", WebTrial.Cancellation);
        Assert.DoesNotContain("<nav", html);
        Assert.DoesNotContain("<form", html);
        var text = Text(html);
        Assert.Contains("06:00:00 +00:00 UTC", text);
        Assert.Contains("Alarm, act now: not acknowledged north: station 1 drains slowly", text);
        Assert.DoesNotContain("A second sentence", text);
        Assert.Contains("North hall, two stations No cycle runs", text);
        Assert.Contains("Yard, four stations Not read", text);
        Assert.Contains("class=\"screen two\"", html);
    }

    [Fact]
    public async Task What_can_hurt_stands_once_above_the_alarms_however_many_there_are()
    {
        Tell(Alarm(AlarmState.Unacknowledged), Alarm(AlarmState.Unacknowledged) with { Id = "other", Alarm = "drain-valve@2" });
        var page = await TextAsync("/alarms");
        Assert.Contains("Standing: 2", page);
        Assert.Equal(2, page.Split("Hot caustic burns.").Length);
        Assert.True(page.IndexOf("Hot caustic burns.", StringComparison.Ordinal) < page.IndexOf("Look first at", StringComparison.Ordinal));
    }

    [Fact]
    public async Task Alarms_tell_what_it_means_where_to_look_and_what_can_hurt()
    {
        Tell(Alarm(AlarmState.Unacknowledged));
        var page = await TextAsync("/alarms");
        Assert.Contains("Standing: 1", page);
        Assert.Contains("Kegs: Liquid stays in them.", page);
        Assert.Contains("Look first at: The valve.", page);
        Assert.Contains("Caution: Hot caustic burns.", page);
        Assert.Contains("stands, not acknowledged", page);
        Assert.Contains("2031-03-05 05:59:55 +00:00", page);
    }

    [Fact]
    public async Task History_is_of_the_days_and_the_washer_chosen()
    {
        Tell(Alarm(AlarmState.Unacknowledged));
        Assert.Contains("No alarm came, changed or went in these days.", await TextAsync("/alarms?from=2031-03-01&through=2031-03-04"));
        Assert.Contains("No alarm came, changed or went in these days.", await TextAsync("/alarms?washer=yard"));
        Assert.DoesNotContain("No alarm came, changed or went in these days.", await TextAsync("/alarms?from=2031-03-05&through=2031-03-05&washer=north"));
        Assert.DoesNotContain("No alarm came", await TextAsync("/alarms?from=never&through="));
    }

    [Fact]
    public async Task An_alarm_is_acknowledged_in_a_persons_name_and_the_answer_can_be_reloaded()
    {
        Tell(Alarm(AlarmState.Unacknowledged));
        using var answer = await SendAsync("/alarms/north/drain-valve%401", ("order", "acknowledge"), ("by", "T. Ester"), ("reason", "valve ordered"));
        Assert.Equal(HttpStatusCode.Found, answer.StatusCode);
        var ordered = Assert.Single(_trial.Historian.ReadEvents(new() { Kinds = ["alarm-ordered"] }).OfType<AlarmOrdered>());
        Assert.Equal(("north", new AlarmOrder("drain-valve@1", AlarmOrderKind.Acknowledge, "T. Ester", "valve ordered")), (ordered.Washer, ordered.Order));

        var page = await TextAsync(answer.Headers.Location!.ToString());
        Assert.Contains("Taken down.", page);
        Assert.Contains("\"Acknowledge\" is taken down and not yet followed By T. Ester Why: valve ordered", page);
    }

    [Fact]
    public async Task Shelving_takes_hours_or_a_local_time_and_needs_a_reason()
    {
        Tell(Alarm(AlarmState.Acknowledged));
        using var without = await SendAsync("/alarms/north/drain-valve%401", ("order", "shelve"), ("by", "T. Ester"), ("reason", ""), ("hours", "4"));
        Assert.Equal(HttpStatusCode.BadRequest, without.StatusCode);
        Assert.Contains("reason: found nothing; it is needed to shelve", Text(await without.Content.ReadAsStringAsync(WebTrial.Cancellation)));
        Assert.Empty(_trial.Historian.ReadEvents(new() { Kinds = ["alarm-ordered"] }));

        using var shelved = await SendAsync("/alarms/north/drain-valve%401", ("order", "shelve"), ("by", "T. Ester"), ("reason", "part is ordered"), ("hours", "4"), ("until", ""));
        Assert.Equal(HttpStatusCode.Found, shelved.StatusCode);
        Assert.Equal(Now + TimeSpan.FromHours(4), Assert.Single(_trial.Historian.ReadEvents(new() { Kinds = ["alarm-ordered"] }).OfType<AlarmOrdered>()).Order.Until);
    }

    [Fact]
    public async Task An_order_that_no_longer_fits_is_told_plainly_and_keeps_what_was_typed()
    {
        Tell(Alarm(AlarmState.Unacknowledged));
        var token = await TokenAsync("/alarms/north/drain-valve%401");
        Tell(Alarm(AlarmState.Acknowledged));
        using var late = await SendAsync("/alarms/north/drain-valve%401", token, "acknowledge", ("order", "acknowledge"), ("by", "T. Ester"), ("reason", "me too"));

        // The form that was sent is no longer on the page: nothing is done, and the page says so or shows how the alarm stands now.
        Assert.Contains(late.StatusCode, new[] { HttpStatusCode.Conflict, HttpStatusCode.BadRequest });
        Assert.Empty(_trial.Historian.ReadEvents(new() { Kinds = ["alarm-ordered"] }));
    }

    [Fact]
    public async Task A_form_from_elsewhere_is_refused()
    {
        Tell(Alarm(AlarmState.Unacknowledged));
        using var content = new FormUrlEncodedContent([new("order", "acknowledge"), new("by", "T. Ester"), new("_handler", "acknowledge")]);
        using var answer = await _client.PostAsync("/alarms/north/drain-valve%401", content, WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        Assert.Empty(_trial.Historian.ReadEvents(new() { Kinds = ["alarm-ordered"] }));
    }

    [Fact]
    public async Task Of_an_alarm_that_never_was_the_page_says_so_with_404_and_takes_no_order()
    {
        using var shown = await _client.GetAsync("/alarms/north/no/such%40thing", WebTrial.Cancellation);
        var page = Text(await shown.Content.ReadAsStringAsync(WebTrial.Cancellation));
        Assert.Equal(HttpStatusCode.NotFound, shown.StatusCode);
        Assert.Contains("Found \"no/such@thing\" of the washer \"north\"", page);
        Assert.Contains("This site's washers: north, yard.", page);
        Assert.Contains("All alarms", page);
        using var answer = await SendAsync("/alarms/north/no/such%40thing", "none", "acknowledge", ("order", "acknowledge"), ("by", "T. Ester"));
        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        Assert.Empty(_trial.Historian.ReadEvents(new() { Kinds = ["alarm-ordered"] }));
    }

    [Theory]
    [InlineData("/alarms/north/drain-valve%401", "/alarms/north/drain-valve%401#content")]
    [InlineData("/kegs?span=24h", "/kegs?span=24h#content")]
    [InlineData("//another.example/kegs", "/another.example/kegs#content")]
    public async Task The_way_to_the_content_leads_to_the_same_page_as_it_was_asked_for_and_to_no_other_host(string address, string expected)
    {
        using var request = new HttpRequestMessage(HttpMethod.Get, new Uri(_trial.Address.GetLeftPart(UriPartial.Authority) + address));
        using var answer = await _client.SendAsync(request, WebTrial.Cancellation);
        Assert.Contains($"<a class=\"skip\" href=\"{expected}\"", await answer.Content.ReadAsStringAsync(WebTrial.Cancellation));
    }

    [Fact]
    public async Task Data_tells_connections_gaps_followers_and_the_file()
    {
        Read("north");
        Tell(
            new SourceLost { Id = "l", Washer = "north", At = new(Now - TimeSpan.FromMinutes(30), Now - TimeSpan.FromMinutes(29)), Group = 1, Reason = "no answer" },
            new SourceRestored { Id = "r", Washer = "north", At = At(600), Group = 1, Gap = new(Now - TimeSpan.FromMinutes(30), Now - TimeSpan.FromMinutes(10)) },
            new ClockStepped { Id = "c", Washer = "yard", At = At(900), Shift = TimeSpan.FromSeconds(-90), Reason = "the wall clock was set" });
        var page = await TextAsync("/data");
        Assert.Contains("Modbus TCP, 127.0.0.1:15021, unit", page);
        Assert.Contains("OPC UA, opc.tcp://127.0.0.1:15022", page);
        Assert.Contains("North hall, two stations measurements 2031-03-05 05:30:00 +00:00 2031-03-05 05:50:00 +00:00 20 min 00 s no answer", page);
        Assert.Contains("Yard, four stations : set by −1 min 30 s", page);
        Assert.DoesNotContain("InfluxDB", page);
        Assert.Contains("Nothing that was read was damaged.", page);
        Assert.Contains(_trial.Site.Store.Path, page);
    }

    [Fact]
    public async Task Data_tells_a_follower_that_the_site_file_has_no_more_and_since_when_it_keeps_samples()
    {
        Read("north");
        _trial.Historian.AppendEvents([], new FollowerState("analyst", 0));
        Assert.DoesNotContain("not in the site file", await TextAsync("/data"));
        _trial.Historian.AppendEvents([], new FollowerState("influx/old", _trial.Historian.LastSequence));
        Assert.DoesNotContain("influx/old", await TextAsync("/data"));
        _trial.Historian.AppendEvents([], new FollowerState("influx/old", 0));
        Assert.Contains("influx/old is not in the site file any more. Samples from 2031-03-05 06:00:00 +00:00 on are kept", await TextAsync("/data"));
    }

    [Fact]
    public async Task Setup_tells_what_a_map_lets_be_judged_only_partly_and_what_is_missing_for_what()
    {
        var page = await TextAsync("/setup");
        Assert.Contains("Every drain runs dry in time only partly Can be judged, but one drain sensor serves all stations", page);
        Assert.Contains("Drain valve, station 1 no drain.dry of station 1", page);
        Assert.Contains("Recipe Full wash, version 1: 7 of 7 requirements can be judged", page);
    }

    private static string Text(string html) => Spaces().Replace(WebUtility.HtmlDecode(Tags().Replace(html, " ")), " ");

    [GeneratedRegex("<[^>]*>")]
    private static partial Regex Tags();

    [GeneratedRegex(@"\s+")]
    private static partial Regex Spaces();

    [GeneratedRegex("name=\"form-token\" value=\"([^\"]+)\"")]
    private static partial Regex Token();

    private async Task<string> TextAsync(string address) => Text(await _client.GetStringAsync(address, WebTrial.Cancellation));

    private async Task<string> TokenAsync(string page) => Token().Match(await _client.GetStringAsync(page, WebTrial.Cancellation)).Groups[1].Value;

    private async Task<HttpResponseMessage> SendAsync(string page, params (string Name, string Value)[] fields) => await SendAsync(page, await TokenAsync(page), fields[0].Value, fields);

    private async Task<HttpResponseMessage> SendAsync(string page, string token, string handler, params (string Name, string Value)[] fields)
    {
        using var content = new FormUrlEncodedContent([new("form-token", token), new("_handler", handler), .. fields.Select(f => new KeyValuePair<string, string>(f.Name, f.Value))]);
        return await _client.PostAsync(page, content, WebTrial.Cancellation);
    }

    private TimeBounds At(double ago) => TimeBounds.At(Now - TimeSpan.FromSeconds(ago));

    private Edge Edge(double ago)
    {
        var at = Now - TimeSpan.FromSeconds(ago);
        return new Edge(new Moment(at, at, 0), new Moment(at, at, 0));
    }

    private CycleStarted Started(double ago) => new() { Id = "s", Washer = "north", CycleId = "c", At = At(ago), Edge = Edge(ago) };

    private StepStarted Step(string phase, StepKind kind, double ago) =>
        new() { Id = $"{phase}{kind}", Washer = "north", CycleId = "c", At = At(ago), Phase = phase, PhaseKind = PhaseKind.Sanitise, Pass = 1, Step = kind, Edge = Edge(ago) };

    private AlarmChanged Alarm(AlarmState to) => new()
    {
        Id = $"alarm/{to}", Washer = "north", At = At(5), Alarm = "drain-valve@1", From = AlarmState.Normal, To = to, Priority = AlarmPriority.High, Since = Now - TimeSpan.FromSeconds(5),
        Text = new AlarmText { What = "north: station 1 drains slowly. A second sentence.", Kegs = "Liquid stays in them.", LookAt = "The valve.", Caution = "Hot caustic burns." },
    };

    private Frame Frame(string washer, int group, double ago) => new()
    {
        Washer = washer, Group = group, Kind = FrameKind.Full, Read = At(ago),
        Samples = [new(new Signal(washer, 0, "sequence.programme", "", SignalType.Integer), new SignalValue(1), Quality.Good, At(ago))],
    };

    private void Read(string washer)
    {
        _trial.Historian.AppendFrames([Frame(washer, 0, 0)]);
        Follow();
    }

    private void Tell(params WashEvent[] events)
    {
        _trial.Historian.AppendEvents(events);
        Follow();
    }

    private void Follow() => _trial.Services.GetRequiredService<LiveBoard>().CatchUp();
}
