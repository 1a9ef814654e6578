using System.Net;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Configuration;
using WashBridge.Core.Time;
using WashBridge.Forwarding;
using WashBridge.Historian;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Forwarding;

/// <summary>A period sent again is what the follower sent: the same lines, none missing, none twice.</summary>
public sealed class BackfillTests : IDisposable
{
    private static readonly InfluxConfiguration Plant = new() { Id = "plant", Url = new Uri("http://influx.example:8086/"), Api = 1, Bucket = "keg", Samples = true };

    private readonly TemporaryFolder _folder = new();
    private readonly HistorianFile _historian;
    private readonly Instant _begin;
    private readonly Instant _end;

    public BackfillTests()
    {
        _historian = HistorianFile.Open(_folder["a.washdb"], new HistorianOptions(), TimeProvider.System);
        var day = new WashDay(11);
        for (var i = 0; i < 3; i++)
        {
            _historian.AppendEvents([.. day.Events(700)]);
            _historian.AppendFrames([.. day.Frames(300, 4)]);
        }

        var times = _historian.ReadLog(0, int.MaxValue).Select(e => (e.Event?.At ?? e.Frame!.Read).Latest).ToList();
        (_begin, _end) = (times.Min(), times.Max() + TimeSpan.FromMicroseconds(1));
    }

    public void Dispose()
    {
        _historian.Dispose();
        _folder.Dispose();
    }

    [Fact]
    public async Task All_of_it_is_what_the_follower_sends()
    {
        var influx = new FakeInflux();
        var result = await SendAsync(influx, Plant, _begin, _end);

        Assert.True(_end - _begin > TimeSpan.FromHours(2), "the period is of several parts");
        Assert.Equal(Followed(samples: true), influx.Accepted.Order(StringComparer.Ordinal));
        Assert.Equal(influx.Accepted.Count, result.Lines);
        Assert.Empty(result.SetAside);
    }

    [Fact]
    public async Task Without_samples_only_events_are_sent()
    {
        var influx = new FakeInflux();
        await SendAsync(influx, Plant with { Samples = false }, _begin, _end);
        Assert.Equal(Followed(samples: false), influx.Accepted.Order(StringComparer.Ordinal));
    }

    [Theory]
    [InlineData(0.25)]
    [InlineData(0.5)]
    [InlineData(0.913)]
    public async Task Two_periods_side_by_side_are_the_whole_and_share_no_line(double where)
    {
        var middle = _begin + ((_end - _begin) * where);
        var (first, second) = (new FakeInflux(), new FakeInflux());
        await SendAsync(first, Plant, _begin, middle);
        await SendAsync(second, Plant, middle, _end);

        Assert.NotEmpty(first.Accepted);
        Assert.NotEmpty(second.Accepted);
        Assert.Equal(Followed(samples: true), first.Accepted.Concat(second.Accepted).Order(StringComparer.Ordinal));
    }

    [Fact]
    public async Task Lines_that_the_server_refuses_are_told_with_its_reason_and_all_others_arrive()
    {
        var influx = new FakeInflux();
        influx.Refuse("wash_scan,");
        var result = await SendAsync(influx, Plant, _begin, _end);

        Assert.NotEmpty(result.SetAside);
        Assert.All(result.SetAside, line => Assert.Contains("field type conflict", line.Reason, StringComparison.Ordinal));
        Assert.Equal(Followed(samples: true).Where(l => !l.StartsWith("wash_scan,", StringComparison.Ordinal)), influx.Accepted.Distinct().Order(StringComparer.Ordinal));
    }

    [Fact]
    public async Task What_will_not_pass_by_itself_ends_it_with_the_servers_words()
    {
        var influx = new FakeInflux();
        influx.AnswerWith(() => FakeInflux.Say(HttpStatusCode.Unauthorized, """{"error":"authorization failed"}"""));
        var refused = await Assert.ThrowsAsync<InfluxWriteException>(() => SendAsync(influx, Plant, _begin, _end));
        Assert.Equal("401 Unauthorized: authorization failed", refused.Message);
        Assert.Single(influx.All);
    }

    [Fact]
    public async Task A_server_that_is_busy_is_asked_again()
    {
        var influx = new FakeInflux();
        influx.AnswerWith(() => FakeInflux.Say(HttpStatusCode.ServiceUnavailable), () => FakeInflux.Say(HttpStatusCode.ServiceUnavailable));
        var time = new RecordingTime();
        var sending = SendAsync(influx, Plant, _begin, _end, time);
        await time.PassNextWaitAsync(except: TimeSpan.FromSeconds(30));
        await time.PassNextWaitAsync(except: TimeSpan.FromSeconds(30));
        await sending;
        Assert.Equal(Followed(samples: true), influx.Accepted.Order(StringComparer.Ordinal));
    }

    [Fact]
    public async Task It_tells_how_far_it_is()
    {
        var told = new List<HistorianProgress>();
        using var backfill = new Backfill(Plant, "north", _historian, TimeProvider.System, NullLogger.Instance, transport: new FakeInflux());
        await backfill.RunAsync(_begin, _end, new Told(told), TestContext.Current.CancellationToken);

        Assert.Equal(told.Select(t => t.Done).Order(), told.Select(t => t.Done));
        Assert.True(told.Count > 2);
        Assert.Equal(told[^1].Total, told[^1].Done);
    }

    private async Task<BackfillResult> SendAsync(FakeInflux influx, InfluxConfiguration configuration, Instant from, Instant until, TimeProvider? time = null)
    {
        using var backfill = new Backfill(configuration, "north", _historian, time ?? TimeProvider.System, NullLogger.Instance, new InfluxFollowerOptions { MaxLines = 500, Jitter = () => 0.5 }, influx);
        return await backfill.RunAsync(from, until, null, TestContext.Current.CancellationToken);
    }

    /// <summary>What a follower that begins now would send.</summary>
    private IReadOnlyList<string> Followed(bool samples)
    {
        var (lines, batch, found) = (new LogLines(_historian, "north", samples, 0, 5000), new LineBatch(), new List<string>());
        do
        {
            lines.Fill(batch);
            found.AddRange(batch.Text(0, batch.Count).Split('\n'));
        }
        while (batch.IsFull);

        return [.. found.Order(StringComparer.Ordinal)];
    }

    private sealed class Told(List<HistorianProgress> told) : IProgress<HistorianProgress>
    {
        public void Report(HistorianProgress value) => told.Add(value);
    }
}
