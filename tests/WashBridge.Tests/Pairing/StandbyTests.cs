using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Pairing;

namespace WashBridge.Tests.Pairing;

public sealed class StandbyTests
{
    private static readonly Instant Start = Instant.Parse("2031-03-05T06:00:00Z");
    private static readonly ClockOffset Same = new(TimeSpan.Zero, TimeSpan.Zero);

    private readonly Standby _standby = new(TimeSpan.FromSeconds(20));
    private readonly LastReads _copied = new();

    private static Instant At(double seconds) => Start + TimeSpan.FromSeconds(seconds);

    internal static Frame Frame(double seconds, string washer = "w1", int group = 0, FrameKind kind = FrameKind.Changes) =>
        new() { Washer = washer, Group = group, Kind = kind, Read = new TimeBounds(At(seconds - 0.1), At(seconds)), Reason = kind == FrameKind.Failed ? "no answer" : null, Clock = kind == FrameKind.Clock ? new ClockShift(null) : null };

    private IReadOnlyList<Frame> HandOut(bool isCopied = true) => _standby.HandOut(_copied, isCopied, "because", At(100));

    [Fact]
    public void What_the_copy_does_not_cover_follows_it_without_a_moment_missing()
    {
        Take(Frame(1), Frame(1, group: 1), Frame(2), Frame(3));
        Copy(Frame(2.05), Frame(0.5, group: 1));
        Take(Frame(4));

        var frames = HandOut();

        Assert.Equal([FrameKind.Clock, FrameKind.Changes, FrameKind.Changes, FrameKind.Changes], frames.Select(f => f.Kind));
        Assert.Equal([At(1), At(3), At(4)], frames.Skip(1).Select(f => f.Read.Latest));
        Assert.Equal(("because", TimeSpan.Zero, At(0.9)), (frames[0].Reason, frames[0].Clock!.Value.Shift, frames[0].Read.Latest));
        Assert.Empty(HandOut());
    }

    [Fact]
    public void The_clocks_are_told_apart_also_in_what_counts_as_covered()
    {
        Take(Frame(1), Frame(2), Frame(3));
        Copy(new ClockOffset(TimeSpan.FromSeconds(10), TimeSpan.Zero), Frame(12));
        Assert.Equal([At(3)], HandOut().Skip(1).Select(f => f.Read.Latest));

        Take(Frame(4));
        Copy(new ClockOffset(TimeSpan.FromSeconds(10), TimeSpan.FromSeconds(1)));
        Assert.Null(HandOut()[0].Clock!.Value.Shift);
    }

    [Fact]
    public void An_outage_that_began_before_is_told_from_then_on()
    {
        Take(Frame(1, kind: FrameKind.Failed), Frame(2, group: 1));
        Copy(Frame(3), Frame(1.5, group: 1));
        var frames = HandOut();
        Assert.Equal([FrameKind.Clock, FrameKind.Failed, FrameKind.Changes], frames.Select(f => f.Kind));
        Assert.Equal((0, "no answer", At(1.9)), (frames[1].Group, frames[1].Reason, frames[1].Read.Latest));
    }

    [Fact]
    public void An_outage_that_is_over_is_not()
    {
        Take(Frame(1, kind: FrameKind.Failed), Frame(2, kind: FrameKind.Full), Frame(5));
        Copy(Frame(3));
        Assert.Equal([FrameKind.Clock, FrameKind.Changes], HandOut().Select(f => f.Kind));
    }

    [Fact]
    public void Washers_are_handed_out_one_after_the_other()
    {
        Take(Frame(1), Frame(1, "w2"), Frame(2), Frame(2, "w2"));
        Assert.Equal([("w1", FrameKind.Clock), ("w1", FrameKind.Changes), ("w1", FrameKind.Changes), ("w2", FrameKind.Clock), ("w2", FrameKind.Changes), ("w2", FrameKind.Changes)], HandOut().Select(f => (f.Washer, f.Kind)));
    }

    [Fact]
    public void A_washer_that_only_this_bridge_can_read_fills_no_memory()
    {
        for (var second = 1; second <= 1000; second++)
        {
            Take(Frame(second));
            Copy();
        }

        Assert.Equal(21, HandOut(isCopied: false).Count);
    }

    [Fact]
    public void Clock_frames_count_from_the_last_answer_on_and_all_where_nothing_was_copied()
    {
        Take(Frame(0, kind: FrameKind.Clock), Frame(1));
        Copy();
        Take(Frame(2, kind: FrameKind.Clock), Frame(3));
        Assert.Equal([At(1), At(2), At(3)], HandOut(isCopied: false).Select(f => f.Read.Latest));

        Take(Frame(4, kind: FrameKind.Clock), Frame(5));
        Assert.Equal([At(4), At(5)], HandOut(isCopied: false).Select(f => f.Read.Latest));
    }

    private void Take(params Frame[] frames) => Array.ForEach(frames, _standby.Take);

    private void Copy(params Frame[] frames) => Copy(Same, frames);

    private void Copy(ClockOffset offset, params Frame[] frames)
    {
        Array.ForEach(frames, _copied.Take);
        _standby.Covered(_copied, offset);
    }
}
