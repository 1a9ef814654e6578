using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;

namespace WashBridge.Historian.Tests;

public sealed class ClockStepTests
{
    [Fact]
    public void A_clock_step_of_unknown_size_is_read_back_as_it_was_written()
    {
        var step = new ClockStepped { Id = "c", Washer = "w", At = TimeBounds.At(new Instant(5)), Shift = null, Reason = "watching began" };
        Assert.Equal(step, WashJson.ReadEvent(WashJson.Write(step)));
        var known = step with { Shift = TimeSpan.FromSeconds(-90) };
        Assert.Equal(known, WashJson.ReadEvent(WashJson.Write(known)));
    }
}
