using System.Threading.Channels;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Polling;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Simulator;
using WashBridge.Subscribing;

namespace WashBridge.Tests.Subscribing;

/// <summary>What the subscriber makes of what a connection tells it, in virtual time. The server's clock is a second ahead.</summary>
public sealed class OpcUaSubscriberTests
{
    private static readonly TimeSpan Ahead = TimeSpan.FromSeconds(1);

    private readonly FakeTimeProvider _time = new(new DateTimeOffset(2031, 3, 5, 6, 0, 0, TimeSpan.Zero));
    private readonly Channel<Frame> _frames = Channel.CreateUnbounded<Frame>();
    private readonly OpcUaSubscriber _subscriber;
    private readonly WasherConfiguration _washer;
    private uint _sequence;

    public OpcUaSubscriberTests()
    {
        _washer = Subscribed.Washer(new SimulatedWasher(new WasherOptions { Id = "w1", Instrumentation = Instrumentation.Poor }), TimeSpan.FromMilliseconds(100));
        _subscriber = new OpcUaSubscriber(_washer, () => throw new NotSupportedException(), _frames.Writer, new SteadyClock(_time), new ClockShift(null), _time, NullLogger<OpcUaSubscriber>.Instance);
    }

    private ISubscriptionListener Listener => _subscriber;

    [Fact]
    public void A_value_is_placed_by_its_source_time_on_our_clock()
    {
        Start();
        Pass(500);
        var changed = ServerNow;
        Pass(40);
        Publish([(0, new DataValue(true, SourceTimestamp: changed))]);

        var frame = Frames().Last(f => f.Group == 0);
        Assert.Single(frame.Samples);
        Assert.Equal(Instant.Floor(_time.GetUtcNow() - TimeSpan.FromMilliseconds(40)), frame.Read.Latest, (a, b) => (a - b).Duration() < TimeSpan.FromMilliseconds(2));
        Assert.InRange(frame.Read.Width, TimeSpan.FromMilliseconds(99), TimeSpan.FromMilliseconds(103));
    }

    [Fact]
    public void While_the_servers_clock_is_unknown_arrival_bounds_the_values()
    {
        Listener.OnResumed(continuous: false);
        Pass(300);
        Publish(All());
        Pass(500);
        Publish([(0, new DataValue(true, SourceTimestamp: ServerNow))]);

        Assert.Equal(TimeSpan.FromMilliseconds(900), Frames().Last(f => f.Group == 0).Read.Width); // since the message before can have been made up, less a sampling interval
    }

    /// <summary>The network, or this machine, stood still for two seconds: three messages come at once, the last with a change that was sampled soon after the second was made up.</summary>
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void When_messages_arrive_says_nothing_of_when_they_were_made_up(bool isClockKnown)
    {
        if (isClockKnown)
        {
            Start();
        }
        else
        {
            Listener.OnResumed(continuous: false);
            Pass(100);
            Publish(All());
            Frames();
        }

        var made = new List<(DateTime Time, long Sent)>();
        var (changed, at) = (default(DateTime), default(Instant));
        for (var i = 0; i < 3; i++)
        {
            var sent = _time.GetTimestamp();
            Pass(400);
            made.Add((ServerNow, sent));
            (changed, at) = i == 1 ? (ServerNow.AddMilliseconds(50), Instant.Floor(_time.GetUtcNow().AddMilliseconds(50))) : (changed, at);
        }

        Pass(2000);
        Listener.OnKeepAlive(made[0].Time, made[0].Sent, _time.GetTimestamp());
        Listener.OnKeepAlive(made[1].Time, made[1].Sent, _time.GetTimestamp());
        Tell([(0, new DataValue(true, SourceTimestamp: changed))], continuous: true, NotificationOrigin.Published, made[2].Sent, published: made[2].Time);

        var frame = Frames().Last(f => f.Group == 0 && f.Samples.Count > 0);
        Assert.True(at >= frame.Read.Earliest && at <= frame.Read.Latest, $"{at} is not in {frame.Read}");
        Assert.True(frame.Read.Width <= TimeSpan.FromMilliseconds(isClockKnown ? 103 : 3400), $"{frame.Read.Width}");
    }

    [Fact]
    public void The_first_connection_marks_no_gap()
    {
        Start(out var first);

        Assert.DoesNotContain(first, f => f.Kind == FrameKind.Failed);
    }

    [Fact]
    public void An_interruption_that_loses_nothing_leaves_no_mark()
    {
        Start();
        Listener.OnInterrupted("the connection was reset", _time.GetTimestamp());
        Pass(900);
        Listener.OnResumed(continuous: true);
        Publish([(0, new DataValue(true, SourceTimestamp: ServerNow))]);

        Assert.DoesNotContain(Frames(), f => f.Kind == FrameKind.Failed);
    }

    [Fact]
    public void A_subscription_that_had_to_be_made_anew_marks_the_gap_and_tells_all_again()
    {
        Start();
        Listener.OnInterrupted("the connection was reset", _time.GetTimestamp());
        var lost = Instant.Floor(_time.GetUtcNow());
        Pass(2000);
        Listener.OnResumed(continuous: false);
        Publish(All(), continuous: false);

        var frames = Frames();
        Assert.Equal([FrameKind.Failed, FrameKind.Failed, FrameKind.Failed, FrameKind.Full, FrameKind.Full, FrameKind.Full], frames.Select(f => f.Kind));
        Assert.All(frames.Take(3), f => Assert.Equal(("the connection was reset", lost), (f.Reason, f.Read.Earliest)));
        Assert.All(frames.Skip(3), f => Assert.All(f.Samples, s => Assert.Equal(Quality.Good, s.Quality)));
    }

    [Fact]
    public void Lost_messages_mark_a_gap_within_a_running_subscription()
    {
        Start();
        Pass(100);
        Publish([(0, new DataValue(true, SourceTimestamp: ServerNow))], continuous: false);

        var frames = Frames();
        Assert.Equal(3, frames.Count(f => f.Kind == FrameKind.Failed));
        var told = frames.Last(f => f.Group == 0);
        Assert.Equal(FrameKind.Full, told.Kind);
        Assert.Single(told.Samples, s => s.Quality == Quality.Good); // what the message told; the rest is not known until it is told again
    }

    [Fact]
    public void Values_that_are_read_anew_held_between_request_and_answer()
    {
        Start();
        Pass(1000);
        var sent = _time.GetTimestamp();
        Pass(30);
        Tell([.. All().Select(v => (v.Item1, v.Item2 with { SourceTimestamp = null }))], continuous: true, NotificationOrigin.ReadAnew, sent);

        Assert.Equal(TimeSpan.FromMilliseconds(130), Frames().Last(f => f.Group == 0).Read.Width); // and a sampling interval, which any cache may be old
    }

    [Fact]
    public void A_message_that_is_older_than_what_was_read_anew_changes_nothing()
    {
        Start();
        Pass(500);
        var before = ServerNow;
        Pass(100);
        Tell([(0, new DataValue(true, SourceTimestamp: ServerNow))], continuous: false, NotificationOrigin.ReadAnew, _time.GetTimestamp());
        Frames();
        Pass(100);
        Publish([(0, new DataValue(false, SourceTimestamp: before))], continuous: false);
        Assert.DoesNotContain(Frames(), f => f.Samples.Any(s => s.Signal == _washer.Tags[0].Signal));
        Pass(100);
        Publish([(0, new DataValue(false, SourceTimestamp: ServerNow))]);
        Assert.Contains(Frames(), f => f.Samples.Any(s => s.Signal == _washer.Tags[0].Signal && !s.Value.IsSet));
    }

    [Fact]
    public void A_refused_tag_is_bad_with_its_reason_and_the_others_are_good()
    {
        Listener.OnResumed(continuous: false);
        Listener.OnItemChanged(new MonitoredItemState(0, StatusCodes.BadNodeIdUnknown, default, default, 0));
        Pass(100);
        Publish([.. All().Skip(1)]);

        var samples = Frames().Single(f => f is { Group: 0, Kind: FrameKind.Full }).Samples;
        Assert.Equal(_washer.Tags[0].Signal, samples.Single(s => s.Quality == Quality.Bad).Signal);
    }

    [Fact]
    public void Messages_that_belong_together_are_placed_together()
    {
        Start();
        Pass(100);
        Tell([(0, new DataValue(true, SourceTimestamp: ServerNow))], true, NotificationOrigin.Published, 0, more: true);
        Assert.Empty(Frames());
        Publish([(1, new DataValue(true, SourceTimestamp: ServerNow))]);

        Assert.Equal([0, 2], Frames().Where(f => f.Group == 0).Select(f => f.Samples.Count));
    }

    [Fact]
    public async Task A_source_that_cannot_connect_says_so_in_the_frames_and_stops_when_told()
    {
        var options = new UaClientOptions { Endpoint = new Uri("opc.tcp://127.0.0.1:1"), Identity = UserIdentity.Anonymous, Policy = Protocols.OpcUa.Security.SecurityPolicy.None, Mode = Protocols.OpcUa.Security.MessageSecurityMode.None };
        var washer = _washer with { Tags = [.. _washer.Tags.Select((t, i) => t with { Source = new OpcUaSource(new NodeId(2, (uint)(i + 1))) })] };
        var subscriber = new OpcUaSubscriber(washer, () => options, _frames.Writer, new SteadyClock(_time), new ClockShift(null), _time, NullLogger<OpcUaSubscriber>.Instance);
        using var stop = new CancellationTokenSource();
        var running = subscriber.RunAsync(stop.Token);
        Assert.Equal(FrameKind.Clock, (await _frames.Reader.ReadAsync(TestContext.Current.CancellationToken)).Kind);
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(30));
        while (!_frames.Reader.TryPeek(out _))
        {
            patience.Token.ThrowIfCancellationRequested();
            _time.Advance(TimeSpan.FromMilliseconds(250));
            await Task.Yield();
        }

        var failed = Frames();
        Assert.Equal([0, 1, 2], failed.Select(f => f.Group));
        Assert.All(failed, f => Assert.Equal(FrameKind.Failed, f.Kind));
        await stop.CancelAsync();
        await running.WaitAsync(TimeSpan.FromSeconds(30), TestContext.Current.CancellationToken);
    }

    private DateTime ServerNow => (_time.GetUtcNow() + Ahead).UtcDateTime;

    /// <summary>Connected, the clock known, all values told.</summary>
    private void Start() => Start(out _);

    private void Start(out List<Frame> frames)
    {
        Listener.OnResumed(continuous: false);
        Listener.OnClockOffset(new ClockOffset(_time.GetTimestamp(), ServerNow, ServerNow.AddMilliseconds(1), _time.GetUtcNow().UtcDateTime, 0.0001, _time.TimestampFrequency));
        Pass(100);
        Publish(All());
        frames = Frames();
        Assert.Equal(3, frames.Count(f => f.Kind == FrameKind.Full));
    }

    private List<(uint, DataValue)> All() => [.. _washer.Tags.Select((t, i) => ((uint)i, new DataValue(t.Signal.Type == SignalType.Text ? "K-1" : (Variant)false, SourceTimestamp: ServerNow)))];

    private void Pass(int milliseconds) => _time.Advance(TimeSpan.FromMilliseconds(milliseconds));

    private void Publish(List<(uint Handle, DataValue Value)> values, bool continuous = true) => Tell(values, continuous, NotificationOrigin.Published, 0);

    private void Tell(List<(uint Handle, DataValue Value)> values, bool continuous, NotificationOrigin origin, long sent, bool more = false, DateTime? published = null) => Listener.OnNotification(new PublishedNotification(
        [.. values.Select(v => new MonitoredItemNotification(v.Handle, v.Value))],
        ++_sequence,
        published ?? ServerNow,
        sent,
        _time.GetTimestamp(),
        continuous,
        origin,
        more));

    private List<Frame> Frames()
    {
        var frames = new List<Frame>();
        while (_frames.Reader.TryRead(out var frame))
        {
            frames.Add(frame);
        }

        return frames;
    }
}
