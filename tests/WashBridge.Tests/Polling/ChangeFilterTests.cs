using CsCheck;
using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Polling;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Tests.Polling;

public sealed class ChangeFilterTests
{
    private static readonly Signal Step = new("w1", 0, "sequence.step", "", SignalType.Integer);
    private static readonly Signal Heat = new("w1", 0, "temperature.caustic", "Cel", SignalType.Quantity);
    private static readonly Signal Keg = new("w1", 1, "keg.id", "", SignalType.Text);
    private static readonly PollGroup Group = new(0, "sequence", TimeSpan.FromMilliseconds(100), TimeSpan.FromSeconds(10));

    private static readonly Tag[] Tags =
    [
        Tag(Step, 0),
        Tag(Heat, 0.5),
        Tag(Keg, 0),
    ];

    private static Tag Tag(Signal signal, double deadBand) =>
        new() { Signal = signal, Group = 0, Source = new ModbusSource(new ModbusPoint(ModbusTable.HoldingRegisters, 0, RegisterType.UInt16)), DeadBand = deadBand };

    private static TimeBounds Read(double second) => new(At(second), At(second + 0.01));

    private static Instant At(double second) => new((long)(second * 1_000_000));

    private static Sample[] Samples(double second, double step, double heat, string keg = "K-1", Quality quality = Quality.Good) =>
    [
        new(Step, new SignalValue(step), quality, Read(second)),
        new(Heat, new SignalValue(heat), quality, Read(second)),
        new(Keg, SignalValue.Of(keg), quality, Read(second)),
    ];

    [Fact]
    public void The_first_frame_is_full_and_the_next_lists_only_changes()
    {
        var filter = new ChangeFilter("w1", Group, Tags);

        var first = filter.Keep(Samples(0, 10, 80), Read(0));
        var same = filter.Keep(Samples(0.1, 10, 80), Read(0.1));
        var moved = filter.Keep(Samples(0.2, 20, 80), Read(0.2));

        Assert.Equal((FrameKind.Full, 3), (first.Kind, first.Samples.Count));
        Assert.Equal((FrameKind.Changes, 0), (same.Kind, same.Samples.Count));
        Assert.Equal(Step, Assert.Single(moved.Samples).Signal);
    }

    [Fact]
    public void A_slow_creep_is_recorded_once_it_leaves_the_dead_band_around_what_was_recorded()
    {
        var filter = new ChangeFilter("w1", Group, Tags);
        filter.Keep(Samples(0, 10, 80), Read(0));

        var counts = Enumerable.Range(1, 8).Select(i => filter.Keep(Samples(i * 0.1, 10, 80 + (i * 0.2)), Read(i * 0.1)).Samples.Count);

        Assert.Equal([0, 0, 1, 0, 0, 1, 0, 0], counts);
    }

    [Fact]
    public void A_heartbeat_lists_everything()
    {
        var filter = new ChangeFilter("w1", Group, Tags);
        filter.Keep(Samples(0, 10, 80), Read(0));

        Assert.Equal(FrameKind.Changes, filter.Keep(Samples(9.9, 10, 80), Read(9.9)).Kind);
        Assert.Equal(FrameKind.Full, filter.Keep(Samples(10.0, 10, 80), Read(10.0)).Kind);
        Assert.Equal(FrameKind.Changes, filter.Keep(Samples(10.1, 10, 80), Read(10.1)).Kind);
    }

    [Fact]
    public void After_a_failure_the_next_frame_lists_everything()
    {
        var filter = new ChangeFilter("w1", Group, Tags);
        filter.Keep(Samples(0, 10, 80), Read(0));

        var failed = filter.Fail("no answer", Read(0.1));

        Assert.Equal((FrameKind.Failed, "no answer"), (failed.Kind, failed.Reason));
        Assert.Equal(FrameKind.Full, filter.Keep(Samples(0.2, 10, 80), Read(0.2)).Kind);
    }

    [Fact]
    public void A_change_of_quality_or_of_text_is_a_change()
    {
        var filter = new ChangeFilter("w1", Group, Tags);
        filter.Keep(Samples(0, 10, 80), Read(0));

        Assert.Equal(Keg, Assert.Single(filter.Keep(Samples(0.1, 10, 80, keg: "K-2"), Read(0.1)).Samples).Signal);
        Assert.Equal(3, filter.Keep(Samples(0.2, 10, 80, keg: "K-2", quality: Quality.Bad), Read(0.2)).Samples.Count);
    }

    [Fact]
    public void A_value_that_stays_not_a_number_is_no_change()
    {
        var filter = new ChangeFilter("w1", Group, Tags);
        filter.Keep(Samples(0, 10, double.NaN), Read(0));

        Assert.Empty(filter.Keep(Samples(0.1, 10, double.NaN), Read(0.1)).Samples);
        Assert.Single(filter.Keep(Samples(0.2, 10, 80), Read(0.2)).Samples);
    }

    [Fact]
    public void Whoever_replays_the_frames_is_never_further_off_than_the_dead_band() => Gen.Double[0, 10].Array[1, 60].Sample(heats =>
    {
        var filter = new ChangeFilter("w1", Group, Tags);
        var held = double.NaN;
        for (var i = 0; i < heats.Length; i++)
        {
            var frame = filter.Keep(Samples(i, 10, heats[i]), Read(i));
            held = frame.Samples.Where(s => s.Signal == Heat).Select(s => s.Value.Number).DefaultIfEmpty(held).Last();
            Assert.InRange(Math.Abs(held - heats[i]), 0, 0.5);
        }
    });
}
