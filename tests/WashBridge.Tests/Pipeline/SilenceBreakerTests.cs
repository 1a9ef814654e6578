using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Pipeline;

namespace WashBridge.Tests.Pipeline;

public sealed class SilenceBreakerTests
{
    private static readonly Instant Start = Instant.Parse("2031-03-05T20:00:00Z");

    [Fact]
    public void Silence_is_broken_after_a_minute_then_after_twice_as_long_and_at_most_after_an_hour()
    {
        var silence = new SilenceBreaker();
        silence.Take(Frame(0), hasEvents: true);
        var told = Enumerable.Range(1, 20_000).Where(second => silence.Take(Frame(second), hasEvents: false) is not null);
        Assert.Equal([60, 180, 420, 900, 1860, 3780, 7380, 10_980, 14_580, 18_180], told);
    }

    [Fact]
    public void Whatever_is_told_begins_a_new_silence()
    {
        var silence = new SilenceBreaker();
        silence.Take(Frame(0), hasEvents: true);
        Assert.NotNull(silence.Take(Frame(60), hasEvents: false));
        Assert.Null(silence.Take(Frame(100), hasEvents: true));
        Assert.Null(silence.Take(Frame(159), hasEvents: false));
        Assert.NotNull(silence.Take(Frame(160), hasEvents: false));
    }

    [Fact]
    public void Failed_frames_tell_the_time_too_and_a_clock_that_was_set_back_begins_anew()
    {
        var silence = new SilenceBreaker();
        silence.Take(Frame(1000), hasEvents: true);
        Assert.Null(silence.Take(Frame(0), hasEvents: false));
        var passed = silence.Take(Frame(61, FrameKind.Failed), hasEvents: false);
        Assert.Equal(Frame(61).Read, passed!.At);
        Assert.Equal("w1/time/0/2031-03-05T20:01:01.000000Z", passed.Id);
    }

    [Fact]
    public void It_goes_on_from_its_state()
    {
        var silence = new SilenceBreaker();
        silence.Take(Frame(0), hasEvents: true);
        Assert.NotNull(silence.Take(Frame(60), hasEvents: false));
        var restored = new SilenceBreaker(System.Text.Json.JsonSerializer.Deserialize<SilenceState>(System.Text.Json.JsonSerializer.Serialize(silence.State)));
        Assert.Equal(silence.State, restored.State);
        Assert.Null(restored.Take(Frame(179), hasEvents: false));
        Assert.NotNull(restored.Take(Frame(180), hasEvents: false));
    }

    private static Frame Frame(int second, FrameKind kind = FrameKind.Changes) => new()
    {
        Washer = "w1",
        Group = 0,
        Kind = kind,
        Read = TimeBounds.At(Start + TimeSpan.FromSeconds(second)),
        Samples = [],
    };
}
