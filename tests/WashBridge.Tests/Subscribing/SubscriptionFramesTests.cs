using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Polling;
using WashBridge.Protocols.OpcUa;
using WashBridge.Subscribing;

namespace WashBridge.Tests.Subscribing;

/// <summary>What a subscription tells, as frames. Stamps are milliseconds; sequence and step are sampled every 100 ms, the temperature every 200.</summary>
public sealed class SubscriptionFramesTests
{
    private const int Step = 0;
    private const int Running = 1;
    private const int Temperature = 2;
    private static readonly DateTimeOffset Start = new(2031, 3, 5, 6, 0, 0, TimeSpan.Zero);
    private static readonly ClockAnchor Anchor = new(0, Start, TimeSpan.Zero, StampsPerSecond: 1000);

    private readonly SubscriptionFrames _frames = new(Washer(), TimeSpan.FromSeconds(1), 1000);

    [Fact]
    public void The_first_message_gives_a_full_frame_of_each_group()
    {
        var frames = First();

        Assert.Equal([(0, FrameKind.Full, 2), (1, FrameKind.Full, 1)], frames.Select(f => (f.Group, f.Kind, f.Samples.Count)));
        Assert.All(frames, f => Assert.All(f.Samples, s => Assert.Equal(Quality.Good, s.Quality)));
    }

    [Fact]
    public void A_change_is_the_old_values_and_the_new_over_the_sampling_interval_before_its_source_time()
    {
        First();
        var frames = Sequence(_frames.Publish([Value(Step, 12, source: 1450)], StampBounds.At(1500), 1500, Anchor));

        Assert.Equal([Between(1350, 1450), Between(1350, 1450)], frames.Select(f => f.Read));
        Assert.Empty(frames[0].Samples);
        var sample = Assert.Single(frames[1].Samples);
        Assert.Equal((12, Between(1350, 1450)), (sample.Value.Number, sample.At));
    }

    [Fact]
    public void Values_sampled_together_share_a_frame_and_later_ones_follow()
    {
        First();
        var frames = Sequence(_frames.Publish([Value(Running, 0, source: 1460), Value(Step, 12, source: 1452), Value(Step, 13, source: 1552)], StampBounds.At(1600), 1600, Anchor));

        Assert.Equal([0, 2, 0, 1], frames.Select(f => f.Samples.Count));
        Assert.Equal([Between(1352, 1460), Between(1452, 1552)], new[] { frames[1], frames[3] }.Select(f => f.Read));
    }

    [Theory]
    [InlineData(null)]
    [InlineData(1800L)] // after the message that carries it
    [InlineData(-60_000L)] // a clock that is a minute behind
    public void A_source_time_that_cannot_be_true_leaves_the_interval_between_two_messages(long? source)
    {
        First();
        var frames = Sequence(_frames.Publish([Value(Step, 12, source)], StampBounds.At(1500), 1500, Anchor));

        Assert.Equal(Between(900, 1500), frames[^1].Read); // the message before was made up at 1000, less one sampling interval
        Assert.Equal(12, Assert.Single(frames[^1].Samples).Value.Number);
    }

    [Fact]
    public void One_value_without_a_time_leaves_its_whole_group_without()
    {
        First();
        var frames = _frames.Publish([Value(Step, 12, source: 1450), Value(Running, 0, source: null), Value(Temperature, 61, source: 1400)], StampBounds.At(1500), 1500, Anchor);

        Assert.All(frames.Where(f => f.Group == 0), f => Assert.Equal(Between(900, 1500), f.Read));
        Assert.Equal(Between(1200, 1400), frames.Last(f => f is { Group: 1, Samples.Count: 1 }).Read);
    }

    [Fact]
    public void A_keep_alive_says_that_all_held_until_the_last_sample_before_it()
    {
        First();
        var frames = _frames.Publish([], StampBounds.At(1500), 1510, Anchor);

        Assert.Equal([(0, Between(1400, 1500)), (1, Between(1300, 1500))], frames.Select(f => (f.Group, f.Read)));
        Assert.All(frames, f => Assert.Empty(f.Samples));
    }

    [Fact]
    public void While_one_group_changes_the_other_is_told_of_now_and_then()
    {
        First();
        Assert.DoesNotContain(_frames.Publish([Value(Step, 12, 1280)], StampBounds.At(1300), 1300, Anchor), f => f.Group == 1);
        var frame = Assert.Single(_frames.Publish([Value(Step, 13, 1580)], StampBounds.At(1600), 1600, Anchor), f => f.Group == 1);

        Assert.Equal((0, Between(1400, 1600)), (frame.Samples.Count, frame.Read));
    }

    [Fact]
    public void Beside_an_overflow_the_signal_is_uncertain_before_it_is_good()
    {
        First();
        var frames = Sequence(_frames.Publish([Value(Step, 14, source: 1450) with { IsOverflow = true }], StampBounds.At(1500), 1500, Anchor));

        Assert.Equal([Quality.Uncertain, Quality.Good], frames.SelectMany(f => f.Samples).Select(s => s.Quality));
        Assert.Equal([14, 14], frames.SelectMany(f => f.Samples).Select(s => (int)s.Value.Number));
    }

    [Fact]
    public void An_outage_is_one_failed_frame_a_group_and_what_comes_after_is_full()
    {
        First();
        Assert.Equal([0, 1], _frames.Fail("the connection was lost", StampBounds.At(5000), Anchor).Select(f => f.Group));
        Assert.Empty(_frames.Fail("still no connection", StampBounds.At(6000), Anchor));
        Assert.True(_frames.IsDown);

        _frames.Begin(7000);
        var frames = _frames.Publish([Value(Step, 21, source: 7100)], StampBounds.At(7200), 7200, Anchor);

        Assert.Equal([FrameKind.Full, FrameKind.Full], frames.Select(f => f.Kind));
        Assert.Equal([Quality.Good, Quality.Bad, Quality.Bad], frames.SelectMany(f => f.Samples).Select(s => s.Quality)); // nothing from before counts
    }

    [Fact]
    public void A_longer_sampling_interval_than_asked_for_widens_the_bounds_of_the_group()
    {
        _frames.Begin(0);
        _frames.Sample(Running, TimeSpan.FromMilliseconds(400));
        _frames.Publish([Value(Step, 11, 100), Value(Running, 1, 100), Value(Temperature, 60, 100)], StampBounds.At(1000), 1000, Anchor);

        Assert.Equal(Between(1050, 1450), _frames.Publish([Value(Step, 12, 1450)], StampBounds.At(1500), 1500, Anchor).Last(f => f.Group == 0).Read);
    }

    [Fact]
    public void Times_of_a_group_never_run_backwards()
    {
        First();
        var all = new[] { (1450, 1500), (1420, 1510), (1505, 1520) }
            .SelectMany((t, i) => Sequence(_frames.Publish([Value(Step, i, t.Item1)], StampBounds.At(t.Item2), t.Item2, Anchor))).ToList();

        Assert.All(all.Zip(all.Skip(1)), p => Assert.True(p.First.Read.Earliest <= p.Second.Read.Earliest && p.First.Read.Latest <= p.Second.Read.Latest));
    }

    private static List<Frame> Sequence(IReadOnlyList<Frame> frames) => [.. frames.Where(f => f.Group == 0)];

    private IReadOnlyList<Frame> First()
    {
        _frames.Begin(0);
        return _frames.Publish([Value(Step, 11, source: 100), Value(Running, 1, source: null), Value(Temperature, 60, source: null)], StampBounds.At(1000), 1000, Anchor);
    }

    private static ItemValue Value(int tag, double number, long? source) =>
        new(tag, new TagReading(new SignalValue(number), Quality.Good, null), source is { } at ? StampBounds.At(at) : null);

    private static TimeBounds Between(int from, int to) => new(Instant.Floor(Start.AddMilliseconds(from)), Instant.Floor(Start.AddMilliseconds(to)));

    private static WasherConfiguration Washer()
    {
        var signals = new[]
        {
            (new Signal("w1", 0, "sequence.step", "", SignalType.Integer), 0),
            (new Signal("w1", 0, "sequence.running", "", SignalType.Flag), 0),
            (new Signal("w1", 0, "temperature.caustic", "Cel", SignalType.Quantity), 1),
        };
        return new WasherConfiguration
        {
            Model = new WasherModel { Washer = "w1", Stations = 1, Programme = [], Sequence = new StepRules([]), Signals = [.. signals.Select(s => s.Item1)] },
            Connection = new OpcUaConnection { Endpoint = new Uri("opc.tcp://127.0.0.1:4840") },
            Groups =
            [
                new PollGroup(0, "sequence", TimeSpan.FromMilliseconds(100), TimeSpan.FromMinutes(1)),
                new PollGroup(1, "measurements", TimeSpan.FromMilliseconds(200), TimeSpan.FromMinutes(1)),
            ],
            Tags = [.. signals.Select(s => new Tag { Signal = s.Item1, Group = s.Item2, Source = new OpcUaSource(new NodeId(2, s.Item1.Name)) })],
            Recipe = new Recipe { Id = "r", Version = 1, Requirements = [] },
        };
    }
}
