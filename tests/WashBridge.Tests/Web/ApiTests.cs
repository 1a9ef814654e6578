using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Web.Api;

namespace WashBridge.Tests.Web;

public sealed class ApiTests
{
    private static readonly Signal Caustic = new("north", 0, "temperature.caustic", "Cel", SignalType.Quantity);

    [Fact]
    public async Task Pages_by_cursor_bring_every_entry_once_also_while_the_log_grows()
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        Scan(trial, 0, 25);
        var kegs = new List<string>();
        string? after = null;
        var pages = 0;
        do
        {
            using var page = await JsonAsync(client, $"/api/v1/events?kinds=keg-scanned&limit=10{(after is null ? "" : $"&after={after}")}");
            kegs.AddRange(page.RootElement.GetProperty("items").EnumerateArray().Select(i => i.GetProperty("event").GetProperty("kegId").GetString()!));
            after = page.RootElement.GetProperty("next").ValueKind == JsonValueKind.Null ? null : page.RootElement.GetProperty("next").ToString();
            if (pages++ == 0)
            {
                Scan(trial, 25, 30);
            }
        }
        while (after is not null);

        Assert.Equal(Enumerable.Range(0, 30).Select(i => $"K-{i}"), kegs);
        Assert.Equal(3, pages);
    }

    [Fact]
    public async Task Events_are_chosen_by_washer_and_period()
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        Scan(trial, 0, 10);
        var at = trial.Time.GetUtcNow();
        using var some = await JsonAsync(client, $"/api/v1/events?kinds=keg-scanned&washer=north&from={at.AddSeconds(4):yyyy-MM-ddTHH:mm:ssZ}&until={at.AddSeconds(7):yyyy-MM-ddTHH:mm:ssZ}");
        Assert.Equal(["K-4", "K-5", "K-6"], some.RootElement.GetProperty("items").EnumerateArray().Select(i => i.GetProperty("event").GetProperty("kegId").GetString()));
        using var none = await JsonAsync(client, "/api/v1/events?kinds=keg-scanned&washer=yard");
        Assert.Equal(0, none.RootElement.GetProperty("items").GetArrayLength());
    }

    [Fact]
    public async Task A_signal_comes_as_it_was_read_or_put_together_without_losing_its_ends()
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        var start = Instant.Floor(trial.Time.GetUtcNow());
        trial.Historian.AppendFrames([.. Enumerable.Range(0, 600).Select(i => Frame(start + TimeSpan.FromSeconds(i), i == 300 ? 99 : 70))]);
        var period = $"from={start}&until={start + TimeSpan.FromSeconds(600)}";
        using var signals = await JsonAsync(client, "/api/v1/signals?washer=north");
        Assert.Equal(("temperature.caustic", "Cel"), (signals.RootElement[0].GetProperty("name").GetString(), signals.RootElement[0].GetProperty("unit").GetString()));

        using var all = await JsonAsync(client, $"/api/v1/signals/samples?washer=north&name=temperature.caustic&{period}");
        Assert.Equal(600, all.RootElement.GetProperty("points").GetArrayLength());
        Assert.Equal("Cel", all.RootElement.GetProperty("signal").GetProperty("unit").GetString());

        using var reduced = await JsonAsync(client, $"/api/v1/signals/samples?washer=north&name=temperature.caustic&points=6&{period}");
        var points = reduced.RootElement.GetProperty("points").EnumerateArray().ToList();
        Assert.Equal(6, points.Count);
        Assert.Equal(99, points.Max(p => p.GetProperty("maximum").GetDouble()));
        Assert.Equal(600, points.Sum(p => p.GetProperty("count").GetInt32()));
    }

    [Theory]
    [InlineData("/api/v1/cycles?limit=0", 400, "limit: found '0'; allowed: 1 to 1000")]
    [InlineData("/api/v1/cycles?limit=1001", 400, "limit: found '1001'; allowed: 1 to 1000")]
    [InlineData("/api/v1/cycles?after=x", 400, "after: found 'x'; allowed: the number that the page before gives as next")]
    [InlineData("/api/v1/cycles?wahser=north", 400, "there is no parameter 'wahser'; allowed: washer, from, until, after, limit")]
    [InlineData("/api/v1/cycles?washer=south", 400, "washer: found 'south'; allowed: north, yard")]
    [InlineData("/api/v1/cycles?from=2031-03-05T06:00:00", 400, "from: found '2031-03-05T06:00:00'; allowed: an instant with its zone")]
    [InlineData("/api/v1/cycles?limit=1&limit=2", 400, "limit: found 2 times; allowed: once")]
    [InlineData("/api/v1/events?kinds=nonsense", 400, "kinds: found 'nonsense'; allowed: ")]
    [InlineData("/api/v1/signals/samples?washer=north&name=a&from=2031-03-05T06:00:00Z&until=2031-03-07T06:00:00Z", 400, "at most 1 days after it")]
    [InlineData("/api/v1/signals/samples?washer=north&name=a&from=2031-03-05T06:00:00Z&until=2031-03-05T07:00:00Z", 404, "north has no signal 'a'")]
    [InlineData("/api/v1/cycles/nothing", 404, "there is no cycle 'nothing'")]
    [InlineData("/api/v1/cycles/nothing?id=other", 400, "there is no parameter 'id'; allowed: none")]
    [InlineData("/api/v1/kegs/keg?id=nothing", 404, "nothing is known of a keg 'nothing'")]
    [InlineData("/api/v1/kegs/keg", 400, "id: found nothing; allowed: 1 to 200 characters without control characters")]
    [InlineData("/api/v1/alarms?all=maybe", 400, "all: found 'maybe'; allowed: true, false")]
    public async Task What_cannot_be_answered_says_what_was_found_and_what_is_allowed(string address, int status, string detail)
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        using var answer = await client.GetAsync(address, WebTrial.Cancellation);
        Assert.Equal(status, (int)answer.StatusCode);
        Assert.Equal("application/problem+json", answer.Content.Headers.ContentType?.MediaType);
        using var problem = JsonDocument.Parse(await answer.Content.ReadAsStringAsync(WebTrial.Cancellation));
        Assert.Equal(status, problem.RootElement.GetProperty("status").GetInt32());
        Assert.Contains(detail, problem.RootElement.GetProperty("detail").GetString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_has_not_changed_is_not_sent_again()
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        using var first = await client.GetAsync("/api/v1/events", WebTrial.Cancellation);
        client.DefaultRequestHeaders.Add("If-None-Match", $"{first.Headers.ETag}");
        using var second = await client.GetAsync("/api/v1/events", WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.NotModified, second.StatusCode);
        Scan(trial, 0, 1);
        using var third = await client.GetAsync("/api/v1/events", WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.OK, third.StatusCode);
    }

    [Fact]
    public async Task Records_and_kegs_show_what_people_told()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        using var program = trial.Program(Role.Operator);
        using var posted = await program.PostAsJsonAsync("/api/v1/scans", new { washer = "north", station = 1, keg = "K-7" }, WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.Created, posted.StatusCode);
        using var told = JsonDocument.Parse(await posted.Content.ReadAsStringAsync(WebTrial.Cancellation));
        Assert.StartsWith("north/s1/scanned/", told.RootElement.GetProperty("id").GetString(), StringComparison.Ordinal);
        using var keg = await JsonAsync(program, "/api/v1/kegs/keg?id=K-7");
        Assert.Equal("keg-scanned", keg.RootElement.GetProperty("entries")[0].GetProperty("event").GetProperty("kind").GetString());
        using var records = await JsonAsync(program, "/api/v1/records");
        Assert.Equal(1, records.RootElement.GetProperty("items")[0].GetProperty("number").GetInt32());

        using var wrong = await program.PostAsJsonAsync("/api/v1/scans", new { washer = "south", station = 1, keg = "K-7" }, WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.BadRequest, wrong.StatusCode);
        Assert.Equal("application/problem+json", wrong.Content.Headers.ContentType?.MediaType);
        Assert.Contains("washer: found", await wrong.Content.ReadAsStringAsync(WebTrial.Cancellation), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("A/1")]
    [InlineData("../..")]
    [InlineData("50%2F")]
    [InlineData("K+7 ?#&id=x")]
    [InlineData("Fass-\u00e4")]
    public async Task A_keg_is_found_whatever_signs_are_in_its_id(string id)
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        using var posted = await client.PostAsJsonAsync("/api/v1/scans", new { washer = "north", station = 1, keg = id }, WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.Created, posted.StatusCode);
        using var keg = await JsonAsync(client, $"/api/v1/kegs/keg?id={Uri.EscapeDataString(id)}");
        Assert.Equal(id, keg.RootElement.GetProperty("keg").GetString());
        Assert.Equal(1, keg.RootElement.GetProperty("entries").GetArrayLength());
    }

    [Fact]
    public async Task The_OpenAPI_document_describes_every_address_and_parameter_of_the_API()
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        using var document = await JsonAsync(client, ApiDocument.Path);
        Assert.StartsWith("3.", document.RootElement.GetProperty("openapi").GetString(), StringComparison.Ordinal);
        var paths = document.RootElement.GetProperty("paths");
        var real = trial.Endpoints.Select(e => "/" + e.RoutePattern.RawText!.TrimStart('/')).Where(p => p.StartsWith(ApiEndpoints.Root + "/", StringComparison.Ordinal) && p != ApiDocument.Path).ToHashSet();
        Assert.Equal(real.Order(), paths.EnumerateObject().Select(p => p.Name).Order());
        Assert.True(real.Count >= 12, $"only {real.Count} addresses");
        foreach (var operation in paths.EnumerateObject().SelectMany(p => p.Value.EnumerateObject().Select(o => (p.Name, o.Value))))
        {
            Assert.False(string.IsNullOrEmpty(operation.Value.GetProperty("summary").GetString()), operation.Name);
            foreach (var parameter in operation.Value.TryGetProperty("parameters", out var parameters) ? parameters.EnumerateArray() : default)
            {
                Assert.False(string.IsNullOrEmpty(parameter.GetProperty("description").GetString()), $"{operation.Name} {parameter.GetProperty("name")}");
            }
        }

        var keg = Assert.Single(paths.GetProperty("/api/v1/kegs/keg").GetProperty("get").GetProperty("parameters").EnumerateArray().ToList());
        Assert.Equal(("id", "query", true), (keg.GetProperty("name").GetString(), keg.GetProperty("in").GetString(), keg.GetProperty("required").GetBoolean()));
        var samples = paths.GetProperty("/api/v1/signals/samples").GetProperty("get").GetProperty("parameters").EnumerateArray().ToList();
        Assert.Equal(["from", "name", "until", "washer"], samples.Where(p => p.TryGetProperty("required", out var required) && required.GetBoolean()).Select(p => p.GetProperty("name").GetString()).Order());
        Assert.Equal("bearer", document.RootElement.GetProperty("components").GetProperty("securitySchemes").GetProperty("token").GetProperty("scheme").GetString());
    }

    private static Frame Frame(Instant at, double value) => new()
    {
        Washer = "north",
        Group = 0,
        Kind = FrameKind.Full,
        Read = TimeBounds.At(at),
        Samples = [new Sample(Caustic, new SignalValue(value), Quality.Good, TimeBounds.At(at))],
    };

    private static void Scan(WebTrial trial, int first, int end) => trial.Historian.AppendEvents([.. Enumerable.Range(first, end - first).Select(i => new KegScanned
    {
        Id = $"north/s1/scanned/{i}",
        Washer = "north",
        At = TimeBounds.At(Instant.Floor(trial.Time.GetUtcNow()) + TimeSpan.FromSeconds(i)),
        Station = 1,
        KegId = $"K-{i}",
    })]);

    private static async Task<JsonDocument> JsonAsync(HttpClient client, string address)
    {
        using var answer = await client.GetAsync(address, WebTrial.Cancellation);
        var text = await answer.Content.ReadAsStringAsync(WebTrial.Cancellation);
        Assert.True(answer.StatusCode == HttpStatusCode.OK, $"{address}: {answer.StatusCode} {text}");
        return JsonDocument.Parse(text);
    }
}
