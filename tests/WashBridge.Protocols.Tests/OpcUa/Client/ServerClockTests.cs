using CsCheck;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.OpcUa.Client;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

/// <summary>The bounds of the server's clock against a clock whose truth is known.</summary>
public sealed class ServerClockTests
{
    private static readonly DateTimeOffset Begin = new(2025, 1, 1, 0, 0, 0, TimeSpan.Zero);

    private static readonly Gen<(int Wait, int There, int Back)> GenReading = Gen.Select(Gen.Int[0, 20_000], Gen.Int[0, 300], Gen.Int[0, 300]);

    [Fact]
    public void The_true_time_is_always_within_the_bounds_whatever_the_way_and_the_drift() =>
        Gen.Select(Gen.Int[-10_000_000, 10_000_000], Gen.Double[-0.0001, 0.0001], GenReading.Array[1, 50]).Sample((offset, drift, readings) =>
        {
            var time = new FakeTimeProvider(Begin);
            var clock = new ServerClock(0.0001, TimeSpan.FromMilliseconds(1), time);
            foreach (var (wait, there, back) in readings)
            {
                time.Advance(TimeSpan.FromMilliseconds(wait));
                var sent = time.GetTimestamp();
                time.Advance(TimeSpan.FromMilliseconds(there));
                var shown = Shown(True(time));
                time.Advance(TimeSpan.FromMilliseconds(back));
                Assert.True(clock.Add(shown, sent, time.GetTimestamp()));
                var bounds = clock.Current!.Value;
                Assert.InRange(True(time), bounds.Earliest, bounds.Latest);
                Assert.InRange(bounds.Latest - bounds.Earliest, TimeSpan.Zero, TimeSpan.FromMilliseconds(there + back + 2));
                Assert.InRange(True(time) - time.GetUtcNow().UtcDateTime, bounds.Lower, bounds.Upper);
            }

            // What the server will show a while later is found again on our clock.
            var last = clock.Current!.Value;
            time.Advance(TimeSpan.FromSeconds(30));
            var (earliest, latest) = last.ToStamps(True(time));
            Assert.InRange(time.GetTimestamp(), earliest - 10, latest + 10);

            DateTime True(FakeTimeProvider t) => t.GetUtcNow().UtcDateTime + TimeSpan.FromMilliseconds(offset) + ((t.GetUtcNow() - Begin) * drift);
        });

    [Fact]
    public void Readings_narrow_the_bounds_down_to_the_best_of_them()
    {
        var time = new FakeTimeProvider(Begin);
        var clock = new ServerClock(0, TimeSpan.FromMilliseconds(1), time);
        Read(clock, time, 80, 20);
        Read(clock, time, 10, 90);
        var bounds = clock.Current!.Value;
        Assert.Equal(TimeSpan.FromMilliseconds(31), bounds.Latest - bounds.Earliest);
    }

    [Fact]
    public void Without_readings_the_bounds_get_wider_by_the_drift()
    {
        var time = new FakeTimeProvider(Begin);
        var clock = new ServerClock(0.0001, TimeSpan.FromMilliseconds(1), time);
        Read(clock, time, 0, 0);
        time.Advance(TimeSpan.FromSeconds(100));
        Read(clock, time, 500, 500);
        var bounds = clock.Current!.Value;
        Assert.InRange(bounds.Latest - bounds.Earliest, TimeSpan.FromMilliseconds(21), TimeSpan.FromMilliseconds(21.3));
        var (earliest, latest) = bounds.ToStamps(bounds.Latest.AddSeconds(100));
        Assert.InRange(time.GetElapsedTime(earliest, latest), TimeSpan.FromMilliseconds(41), TimeSpan.FromMilliseconds(43));
    }

    [Fact]
    public void A_clock_that_is_set_is_noticed_and_followed()
    {
        var time = new FakeTimeProvider(Begin);
        var clock = new ServerClock(0.0001, TimeSpan.FromMilliseconds(1), time);
        Assert.True(Read(clock, time, 5, 5));
        Assert.False(Read(clock, time, 5, 5, TimeSpan.FromHours(1)));
        Assert.Equal(1, clock.Current!.Value.Steps);
        Assert.InRange(clock.Current!.Value.Lower, TimeSpan.FromHours(1) - TimeSpan.FromMilliseconds(10), TimeSpan.FromHours(1));
        Assert.True(Read(clock, time, 5, 5, TimeSpan.FromHours(1)));
        Assert.False(Read(clock, time, 5, 5));
        Assert.Equal(2, clock.Current!.Value.Steps);
    }

    /// <summary>A server may take its clock's time once a second and show that until the next.</summary>
    [Fact]
    public void A_clock_that_is_shown_in_coarse_steps_is_learnt_after_a_few_readings()
    {
        var time = new FakeTimeProvider(Begin);
        var clock = new ServerClock(0.0001, TimeSpan.FromMilliseconds(1), time);
        for (var i = 0; i < 100; i++)
        {
            time.Advance(TimeSpan.FromMilliseconds(1337));
            var stamp = time.GetTimestamp();
            var now = time.GetUtcNow().UtcDateTime;
            clock.Add(new DateTime(now.Ticks - (now.Ticks % TimeSpan.TicksPerSecond), DateTimeKind.Utc), stamp, stamp);
            if (i >= 50)
            {
                Assert.InRange(now, clock.Current!.Value.Earliest, clock.Current!.Value.Latest);
            }
        }

        Assert.InRange(clock.Current!.Value.Steps, 1, 20);
        Assert.InRange(clock.Current!.Value.Latest - clock.Current!.Value.Earliest, TimeSpan.Zero, TimeSpan.FromSeconds(1.1));
    }

    [Fact]
    public void The_listener_hears_of_it()
    {
        using var h = new Harness();
        h.Server.ClockOffset = TimeSpan.FromMinutes(-7);
        h.Server.Latency = TimeSpan.FromMilliseconds(40);
        h.Start();
        h.Run(3);
        var heard = h.Listener.Clocks[^1];
        Assert.InRange(TimeSpan.FromMinutes(-7), heard.Lower, heard.Upper);
        Assert.InRange(heard.Upper - heard.Lower, TimeSpan.Zero, TimeSpan.FromMilliseconds(42));
        Assert.Equal(heard, h.Connection.Clock);
        h.Server.ClockOffset = TimeSpan.FromMinutes(3);
        h.Until(() => h.Listener.Clocks[^1].Steps == 1, seconds: 6);
        Assert.InRange(TimeSpan.FromMinutes(3), h.Listener.Clocks[^1].Lower, h.Listener.Clocks[^1].Upper);
    }

    private static bool Read(ServerClock clock, FakeTimeProvider time, int there, int back, TimeSpan offset = default)
    {
        var sent = time.GetTimestamp();
        time.Advance(TimeSpan.FromMilliseconds(there));
        var shown = time.GetUtcNow().UtcDateTime + offset;
        time.Advance(TimeSpan.FromMilliseconds(back));
        return clock.Add(shown, sent, time.GetTimestamp());
    }

    /// <summary>Servers show whole milliseconds.</summary>
    private static DateTime Shown(DateTime time) => new(time.Ticks - (time.Ticks % TimeSpan.TicksPerMillisecond), DateTimeKind.Utc);
}
