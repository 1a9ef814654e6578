using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Pipeline;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Pipeline;

/// <summary>What a server has not got yet is kept for it, from the first start on.</summary>
public sealed class SiteFollowersTests : IDisposable
{
    private static readonly DateTimeOffset Start = new(2031, 3, 5, 8, 0, 0, TimeSpan.Zero);

    private readonly TemporaryFolder _folder = new();
    private readonly SettableTime _time = new(Start);
    private readonly HistorianFile _historian;
    private readonly Site _site;

    public SiteFollowersTests()
    {
        var demo = ConfigurationLoader.Load(Path.Combine(Repository.Root, "config/demo/site.yaml")).Site!;
        _site = demo with
        {
            Store = demo.Store with { Path = _folder["store.washdb"] },
            Influx = [new() { Id = "plant", Url = new Uri("http://influx.example/"), Api = 1, Bucket = "keg" }],
        };
        _historian = HistorianFile.Open(_site.Store.Path, new HistorianOptions { TailEntries = 0 }, _time);
    }

    public void Dispose()
    {
        _historian.Dispose();
        _folder.Dispose();
    }

    [Fact]
    public void Samples_are_kept_for_a_server_that_has_never_answered()
    {
        Begin();
        var at = Instant.Floor(Start);
        _historian.AppendFrames([new Frame { Washer = "north", Group = 0, Kind = FrameKind.Failed, Read = TimeBounds.At(at), Reason = "no answer" }]);
        foreach (var follower in _historian.ReadFollowers().Where(f => SiteFollowers.IsOwn(f.Follower)))
        {
            _historian.AppendEvents([], new FollowerState(follower.Follower, _historian.LastSequence));
        }

        _historian.Expire(at + TimeSpan.FromDays(1), TestContext.Current.CancellationToken);
        Assert.NotEmpty(_historian.ReadLog(0, 10));
    }

    [Fact]
    public void A_place_that_a_server_has_come_to_stays()
    {
        Begin();
        _historian.AppendFrames([new Frame { Washer = "north", Group = 0, Kind = FrameKind.Failed, Read = TimeBounds.At(Instant.Floor(Start)), Reason = "no answer" }]);
        _historian.AppendEvents([], new FollowerState("influx/plant", 1, "a memory"));
        Begin();
        Assert.Equal((1, "a memory"), (_historian.ReadFollower("influx/plant")!.Sequence, _historian.ReadFollower("influx/plant")!.State));
    }

    private void Begin()
    {
        using var bridge = new Bridge(_site, _historian, new HistorianSignal(), [], _time, NullLoggerFactory.Instance, bootId: null);
    }
}
