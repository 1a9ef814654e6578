using WashBridge.Core.Time;

namespace WashBridge.Polling;

/// <summary>Ties the monotonic clock to the wall clock. Everything stamped with one anchor lies on one undisturbed time line.</summary>
/// <param name="Stamp">Monotonic stamp of the anchor.</param>
/// <param name="Wall">What the wall clock read then.</param>
/// <param name="TotalShift">Sum of all jumps of the wall clock since the process started.</param>
/// <param name="StampsPerSecond">Frequency of the monotonic clock.</param>
internal sealed record ClockAnchor(long Stamp, DateTimeOffset Wall, TimeSpan TotalShift, long StampsPerSecond)
{
    /// <summary>The last microsecond not after <paramref name="stamp"/>.</summary>
    public Instant Floor(long stamp) => Instant.Floor(At(stamp));

    /// <summary>The first microsecond not before <paramref name="stamp"/>.</summary>
    public Instant Ceiling(long stamp) => Instant.Ceiling(At(stamp));

    public DateTimeOffset At(long stamp) => Wall + TimeSpan.FromTicks((long)((stamp - Stamp) * ((double)TimeSpan.TicksPerSecond / StampsPerSecond)));
}

/// <summary>
/// Time for stamping polls: runs on the monotonic clock, and notices when somebody sets the wall clock. Each poller holds the anchor it
/// last told the log about; when <see cref="Current"/> returns another, it first writes a clock frame.
/// </summary>
internal sealed class SteadyClock
{
    /// <summary>A smaller difference is reading noise; NTP slews both clocks alike, so that only steps exceed it.</summary>
    private static readonly TimeSpan Tolerance = TimeSpan.FromMilliseconds(20);

    private readonly TimeProvider _time;
    private readonly Lock _gate = new();
    private ClockAnchor _anchor;

    public SteadyClock(TimeProvider time)
    {
        _time = time;
        _anchor = Read(TimeSpan.Zero);
    }

    public ClockAnchor Current()
    {
        var reading = Read(TimeSpan.Zero);
        lock (_gate)
        {
            var jump = reading.Wall - _anchor.At(reading.Stamp);
            if (jump.Duration() > Tolerance)
            {
                _anchor = reading with { TotalShift = _anchor.TotalShift + jump };
            }

            return _anchor;
        }
    }

    public static ClockShift Between(ClockAnchor before, ClockAnchor after) => new(after.TotalShift - before.TotalShift);

    /// <summary>The two clocks cannot be read at once: take the tightest of a few tries.</summary>
    private ClockAnchor Read(TimeSpan totalShift)
    {
        var best = long.MaxValue;
        var (stamp, wall) = (0L, default(DateTimeOffset));
        for (var attempt = 0; attempt < 3 && best > _time.TimestampFrequency / 10_000; attempt++)
        {
            var before = _time.GetTimestamp();
            var now = _time.GetUtcNow();
            var spent = _time.GetTimestamp() - before;
            if (spent < best)
            {
                (best, stamp, wall) = (spent, before + (spent / 2), now);
            }
        }

        return new ClockAnchor(stamp, wall, totalShift, _time.TimestampFrequency);
    }
}
