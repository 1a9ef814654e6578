using System.Diagnostics;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Telemetry;
using WashBridge.Tests.Forwarding;
using WashBridge.Tests.Messaging;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Telemetry;

/// <summary>Listeners hear all of the process: what other tests do is told apart by the washer that only this test has, and by the trace.</summary>
public sealed class TracesTests : IDisposable
{
    private const string Washer = "traced";

    private readonly TemporaryFolder _folder = new();
    private readonly List<Activity> _ended = [];
    private readonly IHistorian _historian;
    private readonly HistorianSignal _signal = new();

    public TracesTests() => _historian = HistorianFile.Open(_folder["traces.washdb"], new HistorianOptions(), TimeProvider.System);

    public void Dispose()
    {
        _historian.Dispose();
        _folder.Dispose();
    }

    [Fact]
    public async Task A_poll_its_commit_and_its_folding_are_one_trace_and_frames_of_polls_that_are_not_sampled_begin_none()
    {
        using var listener = Listen(ActivitySamplingResult.AllDataAndRecorded);
        Frame[] frames = [Frame(1), Frame(2)];
        using (var poll = Traces.Poll(Washer, "fast"))
        {
            Traces.Tie(frames[0], poll);
        }

        await CommitAsync(frames);
        new Analyst(_historian, Demo.Washers).CatchUp(_signal);

        var spans = Own();
        Assert.Equal(["poll", "commit", "analyse"], spans.Select(s => s.OperationName));
        Assert.Equal([default, spans[0].SpanId, spans[1].SpanId], spans.Select(s => s.ParentSpanId));
        Assert.Equal(2, spans[1].GetTagItem("frames"));

        await CommitAsync([Frame(3)]);
        Assert.Equal(3, Own().Count);
    }

    [Fact]
    public async Task What_goes_to_InfluxDB_and_to_a_broker_goes_on_with_the_trace_of_what_it_carries()
    {
        using var listener = Listen(ActivitySamplingResult.AllDataAndRecorded);
        await using var following = new Following().Start();
        Commit(following.Signal, following.Historian.LastSequence + 1);
        following.Add(Telling.Keg(1), Telling.Keg(2));
        await following.Historian.MovedToAsync(following.Follower.Name, 2);
        following.Add(Telling.Keg(3));
        await following.Historian.MovedToAsync(following.Follower.Name, 3);
        await following.StopAsync();

        await using var telling = new Telling().Begin();
        await telling.Broker.SeeAsync("NBIRTH/bridge-1");
        Commit(telling.Signal, telling.Historian.LastSequence + 1);
        await telling.TellAsync(Telling.Keg(1));
        await telling.TellAsync(Telling.Keg(2));
        await telling.StopAsync();

        // What came with no sampled commit begins no span.
        var spans = Own();
        Assert.Equal(["poll", "forward", "poll", "publish"], spans.Select(s => s.OperationName));
        Assert.Equal([(spans[0].SpanId, "influx/plant", 2L), (spans[2].SpanId, "mqtt/plant", 1L)], new[] { spans[1], spans[3] }.Select(s => (s.ParentSpanId, (string)s.GetTagItem(Measures.Follower)!, (long)s.GetTagItem("entries")!)));

        static void Commit(HistorianSignal signal, long through)
        {
            using var poll = Traces.Poll(Washer, "fast");
            signal.Trail.Add(through, poll);
        }
    }

    [Fact]
    public async Task A_poll_that_is_not_sampled_leaves_no_trail()
    {
        using var listener = Listen(ActivitySamplingResult.PropagationData);
        var frame = Frame(1);
        using (var poll = Traces.Poll(Washer, "fast"))
        {
            Traces.Tie(frame, poll);
        }

        await CommitAsync([frame]);
        Assert.Null(_signal.Trail.Cause(0, long.MaxValue));
    }

    [Fact]
    public void The_trail_gives_the_last_span_of_a_stretch_and_forgets_the_oldest()
    {
        using var listener = Listen(ActivitySamplingResult.AllDataAndRecorded);
        var trail = new CommitTrail();
        ActivityContext first = default, last = default;
        for (var sequence = 1; sequence <= 257; sequence++)
        {
            using var span = Traces.Poll(Washer, "fast");
            trail.Add(sequence * 10, span);
            (first, last) = (sequence == 2 ? span!.Context : first, span!.Context);
        }

        Assert.Null(trail.Cause(0, 19));
        Assert.Equal(first, trail.Cause(0, 29));
        Assert.Equal(last, trail.Cause(0, 2570));
        Assert.Null(trail.Cause(2570, 9999));
    }

    private static Site Demo => ConfigurationLoader.Load(Path.Combine(Repository.Root, "config/demo/site.yaml")).Site!;

    private async Task CommitAsync(Frame[] frames)
    {
        var intake = new FrameIntake(_historian, _signal, TimeProvider.System, NullLogger<FrameIntake>.Instance);
        Assert.All(frames, f => Assert.True(intake.Writer.TryWrite(f)));
        intake.Writer.Complete();
        await intake.RunAsync();
    }

    private List<Activity> Own()
    {
        lock (_ended)
        {
            var own = _ended.Where(a => Washer.Equals(a.GetTagItem(Measures.Washer))).Select(a => a.TraceId).ToHashSet();
            return [.. _ended.Where(a => own.Contains(a.TraceId))];
        }
    }

    private ActivityListener Listen(ActivitySamplingResult sampling)
    {
        var listener = new ActivityListener
        {
            ShouldListenTo = source => source.Name == Traces.SourceName,
            Sample = (ref ActivityCreationOptions<ActivityContext> _) => sampling,
            ActivityStopped = activity =>
            {
                lock (_ended)
                {
                    _ended.Add(activity);
                }
            },
        };
        ActivitySource.AddActivityListener(listener);
        return listener;
    }

    private static Frame Frame(int second) => new()
    {
        Washer = "north",
        Group = 0,
        Kind = FrameKind.Failed,
        Read = TimeBounds.At(Instant.Parse("2031-03-05T06:00:00Z") + TimeSpan.FromSeconds(second)),
        Reason = "no answer",
    };
}
