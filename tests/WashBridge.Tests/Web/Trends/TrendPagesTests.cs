using System.Net;
using System.Text.Json;
using System.Text.RegularExpressions;
using WashBridge.Core.Cycles;
using WashBridge.Core.Upkeep;
using WashBridge.Historian;

namespace WashBridge.Tests.Web.Trends;

public sealed class TrendPagesTests
{
    [Fact]
    public async Task The_page_of_drifts_says_what_where_since_when_by_how_much_and_what_to_look_at()
    {
        await using var trial = await StartAsync();
        using var client = trial.Client();
        var page = await Page(client, "/drift");
        Assert.Contains("One thing drifts.", page);
        Assert.Contains("0.5 higher than usual (usual: 1), +50 %", page);
        Assert.Contains("2031-03-04 14:05:00 +00:00", page);
        Assert.Contains("Strainer and seat of the drain valve", page);
        Assert.Contains("href=\"drift/north/drain-index%402\"", page);
        Assert.Contains("href=\"upkeep/north/drain-valve%402\"", page);
        Assert.Contains("All settings seen are as the recipe approves.", page);
    }

    [Fact]
    public async Task A_figure_has_its_numbers_in_the_page_and_its_picture_as_data_with_reference_and_limit()
    {
        await using var trial = await StartAsync();
        using var client = trial.Client();
        var page = await Page(client, "/drift/north/drain-index@2?cycles=100");
        Assert.Contains("data-chart=\"trends/figure/north/drain-index%402?cycles=100\"", page);
        Assert.Contains("href=\"cycles/north-c120\"", page);
        Assert.Contains("1 to 50 of 70", page);
        using var data = JsonDocument.Parse(await client.GetStringAsync("/trends/figure/north/drain-index%402?cycles=120", WebTrial.Cancellation));
        var series = data.RootElement.GetProperty("series");
        Assert.Equal(3, series.GetArrayLength());
        Assert.Equal(70, series[0].GetProperty("at").GetArrayLength());
        Assert.Equal([0.97, 0.97], series[2].GetProperty("low").EnumerateArray().Select(v => Math.Round(v.GetDouble(), 9)));
        Assert.Equal(3, data.RootElement.GetProperty("limits")[0].GetProperty("value").GetDouble());
    }

    [Theory]
    [InlineData("/drift/nowhere/level/acid", HttpStatusCode.NotFound, "this site has north, yard")]
    [InlineData("/drift/north/no-such-figure", HttpStatusCode.OK, "No cycle of this washer has such a figure.")]
    [InlineData("/drift/north/<script>alert(1)</script>", HttpStatusCode.OK, "&lt;script&gt;")]
    [InlineData("/upkeep/north/no-such-part", HttpStatusCode.NotFound, "no component")]
    [InlineData("/upkeep/north/drain-valve@7", HttpStatusCode.NotFound, "this washer has drain-valve@1")]
    [InlineData("/trends/figure/nowhere/level", HttpStatusCode.NotFound, "")]
    [InlineData("/trends/index/north/heater", HttpStatusCode.NotFound, "")]
    public async Task What_there_is_not_is_said_with_what_there_is(string address, HttpStatusCode status, string says)
    {
        await using var trial = await StartAsync();
        using var client = trial.Client();
        using var answer = await client.GetAsync(address, WebTrial.Cancellation);
        var page = await answer.Content.ReadAsStringAsync(WebTrial.Cancellation);
        Assert.Equal(status, answer.StatusCode);
        Assert.Contains(says, says.Contains('&', StringComparison.Ordinal) ? page : WebUtility.HtmlDecode(page));
        Assert.DoesNotContain("<script>alert", page);
    }

    [Fact]
    public async Task A_figure_chosen_in_the_form_leads_to_its_page()
    {
        await using var trial = await StartAsync();
        using var client = trial.Client();
        using var answer = await client.GetAsync("/drift?washer=north&figure=peers%2Fdrain-index%401", WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.Found, answer.StatusCode);
        Assert.EndsWith("drift/north/peers/drain-index%401", answer.Headers.Location!.ToString());
    }

    [Fact]
    public async Task The_page_of_upkeep_says_how_many_cycles_are_left_and_until_when()
    {
        await using var trial = await StartAsync();
        using var client = trial.Client();
        var page = await Page(client, "/upkeep");
        Assert.Contains("About 100 cycles left.", page);
        Assert.Contains("In 8 of 10 cases between 50 and 200 cycles.", page);
        Assert.Contains("At the present rate of washing:", page);
        Assert.Contains("Not enough evidence: 1", page);
        var folded = Regex.Match(await Raw(client, "/upkeep"), "<details id=\"unknown\">.*?</details>", RegexOptions.Singleline).Value;
        Assert.Contains("<table>", folded);
        var part = await Page(client, "/upkeep/north/drain-valve@2");
        Assert.Contains("the drain valve clogs 90 %", part);
        Assert.Contains("Speaks for it: other stations are as usual.", part);
        Assert.Contains("data-chart=\"trends/index/north/drain-valve%402\"", part);
        Assert.Contains("isolate and lock it", part);
    }

    [Fact]
    public async Task Work_is_recorded_once_shown_and_a_reload_repeats_nothing()
    {
        await using var trial = await StartAsync();
        using var client = trial.Client();
        var fields = Fields(await Raw(client, "/upkeep/north/drain-valve@2"), "work", ("work", "replaced"), ("failed", "true"), ("when", "2031-03-05T05:30"), ("note", Washing.Nasty), ("by", "T. Ester"));
        for (var i = 0; i < 2; i++)
        {
            using var answer = await client.PostAsync("/upkeep/north/drain-valve@2", new FormUrlEncodedContent(fields), WebTrial.Cancellation);
            Assert.Equal(HttpStatusCode.Found, answer.StatusCode);
            Assert.Contains("upkeep/north/drain-valve%402?recorded=yes", answer.Headers.Location!.ToString());
        }

        var made = Assert.IsType<MaintenanceRecorded>(Assert.Single(trial.Historian.ReadEvents(new EventQuery { Kinds = ["maintenance-recorded"] })));
        Assert.Equal(("drain-valve@2", MaintenanceKind.Replaced, true, Washing.Nasty, "T. Ester"), (made.Component.Key, made.Work, made.HadFailed, made.Note, made.By));
        Assert.Equal("2031-03-05T05:30:00.000000Z", made.At.Latest.ToString());
        var log = await Raw(client, "/upkeep?part=drain-valve");
        Assert.Contains("&lt;script&gt;alert(1)&lt;/script&gt;", log);
        Assert.Contains("replaced, it had failed", log);
        Assert.Contains("No work is recorded.", await Page(client, "/upkeep?part=heater"));
    }

    [Theory]
    [InlineData("work", "painted", "allowed: replaced, restored, inspected")]
    [InlineData("when", "2031-03-05T07:30", "to now")]
    [InlineData("when", "yesterday", "allowed: an instant with its zone")]
    [InlineData("by", " ", "who did it must be named")]
    public async Task Work_that_cannot_be_taken_is_refused_with_what_was_found_and_what_was_typed_is_kept(string field, string value, string says)
    {
        await using var trial = await StartAsync();
        using var client = trial.Client();
        var typed = new[] { ("work", "restored"), ("when", "2031-03-05T05:30"), ("note", "strainer cleaned"), ("by", "T. Ester") }.Select(f => f.Item1 == field ? (field, value) : f).ToArray();
        using var answer = await client.PostAsync("/upkeep/north/drain-valve@2", new FormUrlEncodedContent(Fields(await Raw(client, "/upkeep/north/drain-valve@2"), "work", typed)), WebTrial.Cancellation);
        var page = WebUtility.HtmlDecode(await answer.Content.ReadAsStringAsync(WebTrial.Cancellation));
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        Assert.Contains(says, page);
        Assert.Contains("value=\"strainer cleaned\"", page);
        Assert.Empty(trial.Historian.ReadEvents(new EventQuery { Kinds = ["maintenance-recorded"] }));
    }

    internal static async Task<WebTrial> StartAsync()
    {
        var trial = await WebTrial.StartAsync();
        trial.Historian.AppendEvents(
        [
            .. Enumerable.Range(1, 120).Select(n => Washing.Cycle(n, figures: [new("drain-time/rinse/1", 2, n > 60 ? 15 : 10, 0.05), new("liquid/rinse/1", 2, 8, 0.05), new("strength/caustic", 0, 60 - (n * 0.1), 0.1), new("temperature-mean/caustic", 0, 71, 0.1)])),
            Washing.Drift(100, "drain-index@2"),
            Washing.Forecast(90, Washing.Valve2, ForecastState.NoTrend, now: 1),
            Washing.Forecast(110, Washing.Valve2, ForecastState.Approaching, 100),
            Washing.Forecast(110, new Component(ComponentKind.SprayPump), ForecastState.NotEnoughEvidence),
        ]);
        return trial;
    }

    internal static async Task<string> Raw(HttpClient client, string address) => await client.GetStringAsync(address, WebTrial.Cancellation);

    internal static async Task<string> Page(HttpClient client, string address) => WebUtility.HtmlDecode(await Raw(client, address));

    /// <summary>The fields of a form as a browser would send them.</summary>
    internal static List<KeyValuePair<string, string>> Fields(string page, string form, params (string Name, string Value)[] typed) =>
    [
        new("form-token", WebUtility.HtmlDecode(Regex.Match(page, "name=\"form-token\" value=\"([^\"]+)\"").Groups[1].Value)),
        new("_handler", form),
        .. typed.Select(t => new KeyValuePair<string, string>(t.Name, t.Value)),
    ];
}
