using System.Net;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Forwarding;
using WashBridge.Historian;
using WashBridge.Pipeline;

namespace WashBridge.Tests.Forwarding;

public sealed class HealthWriterTests
{
    private static readonly Instant Start = Instant.Parse("2031-03-05T08:00:00Z");

    [Fact]
    public async Task The_bridge_says_how_it_stands_at_once_and_every_minute()
    {
        await using var telling = new Telling().Begin();
        Assert.Equal(
            [
                "wash_bridge,site=north disk_bytes=9000i,disk_free_bytes=4000i,frames_waiting=3i,store_bytes=500i 1930464000000000000",
                "wash_follower,follower=analyst,site=north behind=0i,late_s=0 1930464000000000000",
                "wash_follower,follower=influx/plant,site=north behind=12i,late_s=90 1930464000000000000",
                "wash_read,group=1,site=north,washer=w1 done=5i,failed=0i 1930464000000000000",
            ],
            (await telling.Influx.NextAsync()).Lines);
        Assert.Equal(TimeSpan.FromMinutes(1), await telling.PassMinuteAsync());
        Assert.EndsWith(" 1930464060000000000", (await telling.Influx.NextAsync()).Lines[0], StringComparison.Ordinal);
    }

    [Fact]
    public async Task Reads_are_counted_since_the_server_was_last_told()
    {
        await using var telling = new Telling().Begin();
        Assert.Contains("done=5i", (await telling.Influx.NextAsync()).Lines[^1], StringComparison.Ordinal);
        telling.Influx.AnswerWith(() => FakeInflux.Say(HttpStatusCode.ServiceUnavailable));
        telling.Reads = 9;
        await telling.PassMinuteAsync();
        await telling.Influx.NextAsync();
        telling.Reads = 11;
        await telling.PassMinuteAsync();
        Assert.Contains("done=6i", (await telling.Influx.NextAsync()).Lines[^1], StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_server_that_cannot_be_told_is_told_of_once_and_asked_again_every_minute()
    {
        await using var telling = new Telling { Influx = { Answer = (_, _) => Task.FromResult(FakeInflux.Say(HttpStatusCode.NotFound, """{"error":"database not found"}""")) } };
        telling.Begin();
        for (var i = 0; i < 3; i++)
        {
            await telling.Influx.NextAsync();
            await telling.PassMinuteAsync();
        }

        var (id, level, text) = Assert.Single(telling.Log.Entries);
        Assert.Equal((3110, LogLevel.Warning), (id, level));
        Assert.Contains("database not found", text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_server_that_does_not_answer_holds_nothing_up()
    {
        await using var telling = new Telling().Begin();
        await telling.Influx.NextAsync();
        var asked = new TaskCompletionSource();
        telling.Influx.Answer = async (_, stop) =>
        {
            asked.TrySetResult();
            await Task.Delay(Timeout.InfiniteTimeSpan, telling.Time, stop);
            return FakeInflux.NoContent();
        };
        await telling.PassMinuteAsync();
        await asked.Task;
        telling.Influx.Answer = (_, _) => Task.FromResult(FakeInflux.NoContent());
        telling.Time.Advance(TimeSpan.FromSeconds(20));
        await telling.PassMinuteAsync();
        await telling.Influx.NextAsync();
        Assert.Contains("no answer within 20 s", Assert.Single(telling.Log.Entries).Text, StringComparison.Ordinal);
    }

    [Fact]
    public void The_bridge_knows_how_far_each_follower_is_behind_and_how_often_each_group_was_read()
    {
        using var folder = new TemporaryFolder();
        var site = ConfigurationLoader.Load(Path.Combine(Repository.Root, "config/demo/site.yaml")).Site!;
        site = site with { Store = site.Store with { Path = folder["store.washdb"] } };
        using var historian = WashBridge.Historian.Historian.Open(site.Store.Path, new HistorianOptions(), TimeProvider.System);
        var read = TimeBounds.At(Start);
        historian.AppendFrames([new Frame { Washer = "north", Group = 0, Kind = FrameKind.Failed, Read = read, Reason = "no answer" }]);
        historian.AppendEvents([InfluxFollowerTests.Scan(60)]);
        var time = new RecordingTime();
        var bridge = new Bridge(site with { Washers = [site.Washers[0]] }, historian, new HistorianSignal(), [], time, NullLoggerFactory.Instance, bootId: null);
        using var follower = new InfluxFollower(
            new() { Id = "plant", Url = new Uri("http://influx.example/"), Api = 1, Bucket = "keg" }, "north", historian, bridge.Signal, site.Store.Path, time, new Following.LogRecord());

        var health = BridgeHealth.Of(site, bridge, historian, [follower], [], [], time);
        Assert.Equal(["analyst", "analysis", "influx/plant"], health.Followers.Select(f => f.Name));
        Assert.Equal([Start, Start + TimeSpan.FromSeconds(60), Start + TimeSpan.FromSeconds(60)], health.Followers.Select(f => f.Lag.Oldest!.Value));
        Assert.All(health.Followers, f => Assert.Equal(historian.LastSequence, f.Lag.Entries));
        Assert.Equal([("north", 0), ("north", 1), ("north", 2)], health.Reads.Select(r => (r.Washer, r.Group)));
        Assert.True(health.Space.Bytes > 1000);
        Assert.InRange(health.Space.Free!.Value, 1, health.Space.Disk!.Value);

        historian.AppendEvents([], new FollowerState("influx/plant", historian.LastSequence, null));
        using var upToDate = new InfluxFollower(
            new() { Id = "plant", Url = new Uri("http://influx.example/"), Api = 1, Bucket = "keg" }, "north", historian, bridge.Signal, site.Store.Path, time, new Following.LogRecord());
        Assert.Equal(default, BridgeHealth.Of(site, bridge, historian, [upToDate], [], [], time).Followers[^1].Lag);
    }

    internal static BridgeHealth Health(long reads, Instant? at = null) => new(
        at ?? Start,
        new StoreSpace(500, 4000, 9000),
        3,
        [new("analyst", default), new("influx/plant", new LogLag(12, (at ?? Start) - TimeSpan.FromSeconds(90)))],
        [new("w1", 1, new ReadCounts(reads, 0))]);

    private sealed class Telling : IAsyncDisposable
    {
        private readonly CancellationTokenSource _stop = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        private Task _running = Task.CompletedTask;
        private readonly HealthWriter _writer;

        public Telling()
        {
            _writer = new HealthWriter(
                new() { Id = "plant", Url = new Uri("http://influx.example/"), Api = 1, Bucket = "keg" },
                "north",
                () => Health(Reads, Instant.Floor(Time.GetUtcNow())),
                Time,
                Log,
                Influx);
        }

        public FakeInflux Influx { get; } = new();

        public RecordingTime Time { get; } = new();

        public Following.LogRecord Log { get; } = new();

        public long Reads { get; set; } = 5;

        public Telling Begin()
        {
            _running = _writer.RunAsync(_stop.Token);
            return this;
        }

        public Task<TimeSpan> PassMinuteAsync() => Time.PassNextWaitAsync(except: HealthWriter.Patience);

        public async ValueTask DisposeAsync()
        {
            await _stop.CancelAsync();
            await _running;
            _writer.Dispose();
            _stop.Dispose();
        }
    }
}
