using System.Net;
using System.Text.Json;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Tests.Web;

public sealed class SignalsPageTests
{
    private static readonly Signal Caustic = new("north", 0, "temperature.caustic", "Cel", SignalType.Quantity);
    private static readonly Signal Dry = new("north", 2, "drain.dry", "", SignalType.Flag);

    [Fact]
    public async Task The_page_shows_the_numbers_without_script_and_says_where_its_picture_comes_from()
    {
        await using var trial = await StartAsync();
        using var client = trial.Client();
        var page = await client.GetStringAsync("/signals?washer=north&signal=temperature.caustic&signal=drain.dry%402&span=15m", WebTrial.Cancellation);
        Assert.Contains("data-chart=\"charts/signals.json?washer=north&amp;signal=temperature.caustic&amp;signal=drain.dry%402&amp;span=15m\"", page);
        Assert.Contains("Lowest 70 °C, highest 71.5 °C, last 71.5 °C since 2031-03-05 06:00:00 +00:00", WebUtility.HtmlDecode(page));
        Assert.Contains("<td class=\"number\">71.5</td>", page);
    }

    [Fact]
    public async Task The_data_are_small_json_with_units_and_milliseconds()
    {
        await using var trial = await StartAsync();
        using var client = trial.Client();
        using var json = JsonDocument.Parse(await client.GetStringAsync("/charts/signals.json?washer=north&signal=temperature.caustic&signal=drain.dry%402&span=15m", WebTrial.Cancellation));
        var series = json.RootElement.GetProperty("series");
        Assert.Equal("°C", series[0].GetProperty("unit").GetString());
        Assert.Equal([70, 71.5], series[0].GetProperty("value").EnumerateArray().Select(v => v.GetDouble()).Distinct());
        Assert.Equal(trial.Time.GetUtcNow().AddMinutes(-10).ToUnixTimeMilliseconds(), series[0].GetProperty("at")[0].GetDouble());
        Assert.True(series[1].GetProperty("isFlag").GetBoolean());
    }

    [Theory]
    [InlineData("/charts/signals.json?washer=north", HttpStatusCode.NotFound)]
    [InlineData("/charts/signals.json?washer=north&signal=nothing", HttpStatusCode.NotFound)]
    [InlineData("/charts/signals.json?washer=%00&signal=temperature.caustic", HttpStatusCode.NotFound)]
    [InlineData("/charts/signals.json?washer=north&signal=temperature.caustic&from=never", HttpStatusCode.BadRequest)]
    public async Task What_there_is_not_is_refused_with_what_is_allowed(string address, HttpStatusCode status)
    {
        await using var trial = await StartAsync();
        using var client = trial.Client();
        using var answer = await client.GetAsync(address, WebTrial.Cancellation);
        Assert.Equal(status, answer.StatusCode);
        Assert.Contains("allowed", await answer.Content.ReadAsStringAsync(WebTrial.Cancellation));
    }

    [Fact]
    public async Task The_picture_library_is_served_from_here_and_may_be_kept()
    {
        await using var trial = await StartAsync();
        using var client = trial.Client();
        var page = await client.GetStringAsync("/signals?washer=north&signal=temperature.caustic", WebTrial.Cancellation);
        var library = page.Split("data-library=\"")[1].Split('"')[0];
        using var answer = await client.GetAsync("/" + library, WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        Assert.Equal("text/javascript", answer.Content.Headers.ContentType?.MediaType);
    }

    private static async Task<WebTrial> StartAsync()
    {
        var trial = await WebTrial.StartAsync();
        var now = Instant.Floor(trial.Time.GetUtcNow());
        trial.Historian.AppendFrames([.. Enumerable.Range(0, 11).Select(minute => Frame(
            now - TimeSpan.FromMinutes(10 - minute),
            new Sample(Caustic, new SignalValue(minute < 5 ? 70 : 71.5), Quality.Good, default),
            new Sample(Dry, new SignalValue(minute < 5 ? 0 : 1), Quality.Good, default)))]);
        return trial;
    }

    private static Frame Frame(Instant at, params Sample[] samples)
    {
        var read = TimeBounds.At(at);
        return new Frame { Washer = "north", Group = 1, Kind = FrameKind.Full, Read = read, Samples = [.. samples.Select(s => s with { At = read })] };
    }
}
