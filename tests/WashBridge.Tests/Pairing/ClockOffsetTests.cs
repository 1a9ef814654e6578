using WashBridge.Core.Time;
using WashBridge.Pairing;

namespace WashBridge.Tests.Pairing;

public sealed class ClockOffsetTests
{
    private static readonly DateTimeOffset Start = new(2031, 3, 5, 6, 0, 0, TimeSpan.Zero);

    private static DateTimeOffset At(double milliseconds) => Start.AddMilliseconds(milliseconds);

    [Fact]
    public void Offset_and_delay_are_those_of_RFC_5905_section_8()
    {
        // T1 sent, T2 asked, T3 answered, T4 received: theta = ((T2 - T1) + (T3 - T4)) / 2, delta = (T4 - T1) - (T3 - T2).
        var offset = ClockOffset.Of(At(0), At(1004), At(1504), At(506));
        Assert.Equal(TimeSpan.FromMilliseconds(1001), offset.Ahead);
        Assert.Equal(TimeSpan.FromMilliseconds(3), offset.Error);
        Assert.Equal(TimeSpan.FromMilliseconds(-1001), offset.ToOurs.Shift);
        Assert.Equal(Instant.Floor(At(1001)), offset.OnPartners(Instant.Floor(At(0))));
    }

    [Fact]
    public void Clocks_that_agree_within_20_ms_have_not_moved_and_what_took_long_says_nothing()
    {
        Assert.Equal(TimeSpan.Zero, ClockOffset.Of(At(0), At(20), At(21), At(2)).ToOurs.Shift);
        Assert.Null(ClockOffset.Of(At(0), At(21), At(22), At(44)).ToOurs.Shift);
    }
}
