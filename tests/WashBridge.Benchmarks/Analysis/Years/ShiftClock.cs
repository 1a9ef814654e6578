using WashBridge.Core.Time;

namespace WashBridge.Benchmarks.Analysis.Years;

/// <summary>
/// When the site washes: Monday to Friday, two stretches a day, some 100 cycles. Between them nothing is simulated: the bridge's clock is set forward, as it may
/// be, so that durations do not count that time and stamps do.
/// </summary>
internal static class ShiftClock
{
    public static readonly TimeSpan Length = TimeSpan.FromMinutes(150);

    public static readonly IReadOnlyList<TimeSpan> Begins = [TimeSpan.FromHours(7), TimeSpan.FromHours(12.5)];

    /// <summary>A Monday.</summary>
    public static readonly Instant Start = Instant.Parse("2031-01-06T07:00:00Z");

    /// <summary>How far it is from <paramref name="now"/> to the next stretch; null while one lasts.</summary>
    public static TimeSpan? UntilNext(Instant now)
    {
        var time = now.ToDateTimeOffset();
        for (var day = time.Date; ; day = day.AddDays(1))
        {
            if (day.DayOfWeek is DayOfWeek.Saturday or DayOfWeek.Sunday)
            {
                continue;
            }

            foreach (var begin in Begins)
            {
                var from = new DateTimeOffset(day, TimeSpan.Zero) + begin;
                if (time < from)
                {
                    return from - time;
                }

                if (time < from + Length)
                {
                    return null;
                }
            }
        }
    }
}
