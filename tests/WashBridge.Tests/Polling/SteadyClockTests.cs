using Microsoft.Extensions.Time.Testing;
using WashBridge.Core.Time;
using WashBridge.Polling;

namespace WashBridge.Tests.Polling;

public sealed class SteadyClockTests
{
    private static readonly DateTimeOffset Start = new(2031, 3, 5, 6, 0, 0, TimeSpan.Zero);

    [Fact]
    public void While_nobody_sets_the_clock_the_anchor_stays()
    {
        var time = new FakeTimeProvider(Start);
        var clock = new SteadyClock(time);
        var before = clock.Current();

        time.Advance(TimeSpan.FromHours(30));

        Assert.Same(before, clock.Current());
        Assert.Equal(Instant.Floor(Start.AddHours(30)), before.Floor(time.GetTimestamp()));
    }

    [Theory]
    [InlineData(3600)]
    [InlineData(-3600)]
    [InlineData(0.05)]
    public void A_step_of_the_wall_clock_is_told_with_its_size(double seconds)
    {
        var time = new SettableTime(Start);
        var clock = new SteadyClock(time);
        var before = clock.Current();
        time.Advance(TimeSpan.FromMinutes(1));

        time.SetWallClockBy(TimeSpan.FromSeconds(seconds));
        var after = clock.Current();

        Assert.Equal(TimeSpan.FromSeconds(seconds), SteadyClock.Between(before, after).Shift!.Value);
        Assert.Equal(Instant.Floor(Start.AddMinutes(1).AddSeconds(seconds)), after.Floor(time.GetTimestamp()));
        Assert.Same(after, clock.Current());
    }

    [Fact]
    public void Steps_add_up_for_a_poller_that_looks_seldom()
    {
        var time = new SettableTime(Start);
        var clock = new SteadyClock(time);
        var before = clock.Current();

        time.SetWallClockBy(TimeSpan.FromSeconds(10));
        clock.Current();
        time.SetWallClockBy(TimeSpan.FromSeconds(-4));

        Assert.Equal(TimeSpan.FromSeconds(6), SteadyClock.Between(before, clock.Current()).Shift!.Value);
    }

    [Fact]
    public void A_stamp_lies_within_its_floor_and_ceiling()
    {
        var anchor = new ClockAnchor(0, Start, TimeSpan.Zero, 3_000_000);

        Assert.Equal(new Instant(Instant.Floor(Start).UnixMicroseconds + 0), anchor.Floor(1));
        Assert.Equal(new Instant(Instant.Floor(Start).UnixMicroseconds + 1), anchor.Ceiling(1));
    }
}
