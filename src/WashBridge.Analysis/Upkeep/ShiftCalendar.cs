using WashBridge.Core.Time;

namespace WashBridge.Analysis.Upkeep;

/// <summary>Working time between instants, and the instant after so much working time, by the site's week. Summer time by the zone's own rules.</summary>
public sealed class ShiftCalendar
{
    /// <summary>Nothing is looked for beyond.</summary>
    public static readonly TimeSpan Farthest = TimeSpan.FromDays(1500);

    private readonly ShiftPattern _pattern;

    /// <exception cref="ArgumentException">A shift without days, or not above 0 and at most 24 h long.</exception>
    public ShiftCalendar(ShiftPattern pattern)
    {
        ArgumentNullException.ThrowIfNull(pattern);
        foreach (var shift in pattern.Shifts)
        {
            if (shift.Days.Count == 0 || shift.Length <= TimeSpan.Zero || shift.Length > TimeSpan.FromDays(1))
            {
                throw new ArgumentException($"a shift of {shift.Length} on {shift.Days.Count} days: it needs a day at least, and a length above 0 and at most 24 h.", nameof(pattern));
            }
        }

        _pattern = pattern;
    }

    /// <summary>Working time from one instant to another; zero where the second is not later.</summary>
    public TimeSpan Worked(Instant from, Instant to)
    {
        if (to <= from)
        {
            return TimeSpan.Zero;
        }

        if (_pattern.Shifts.Count == 0)
        {
            return to - from;
        }

        var sum = TimeSpan.Zero;
        foreach (var (begin, end) in Stretches(from))
        {
            if (begin >= to)
            {
                break;
            }

            sum += Instant.Min(end, to) - begin;
        }

        return sum;
    }

    /// <summary>The instant at which so much working time is over; null where it is farther away than <see cref="Farthest"/>.</summary>
    public Instant? After(Instant from, TimeSpan worked)
    {
        if (worked <= TimeSpan.Zero)
        {
            return from;
        }

        if (_pattern.Shifts.Count == 0)
        {
            return worked > Farthest ? null : from + worked;
        }

        foreach (var (begin, end) in Stretches(from))
        {
            if (worked <= end - begin)
            {
                return begin + worked;
            }

            worked -= end - begin;
        }

        return null;
    }

    /// <summary>The shifts that begin on a local date, in order; none where the site is closed.</summary>
    public IReadOnlyList<(Instant Begin, Instant End)> On(DateOnly date) => _pattern.Closed.Contains(date)
        ? []
        : [.. _pattern.Shifts.Where(s => s.Days.Contains(date.DayOfWeek)).OrderBy(s => s.Begin).Select(s => date.ToDateTime(s.Begin) is var local ? (Utc(local, _pattern.Zone), Utc(local + s.Length, _pattern.Zone)) : default)];

    /// <summary>Working stretches that end after an instant, cut off before it, without overlaps, up to the farthest.</summary>
    private IEnumerable<(Instant Begin, Instant End)> Stretches(Instant from)
    {
        // A shift of the day before may run past midnight.
        var date = DateOnly.FromDateTime(TimeZoneInfo.ConvertTime(from.ToDateTimeOffset(), _pattern.Zone).DateTime).AddDays(-1);
        var done = from;
        for (var day = 0; day < Farthest.Days; day++, date = date.AddDays(1))
        {
            if (_pattern.Closed.Contains(date))
            {
                continue;
            }

            foreach (var shift in _pattern.Shifts.Where(s => s.Days.Contains(date.DayOfWeek)).OrderBy(s => s.Begin))
            {
                var local = date.ToDateTime(shift.Begin);
                var (begin, end) = (Utc(local, _pattern.Zone), Utc(local + shift.Length, _pattern.Zone));
                if (end > done && end > begin)
                {
                    yield return (Instant.Max(begin, done), end);
                    done = end;
                }
            }
        }
    }

    /// <summary>A local time that summer time skips is taken for the first one after; of one that comes twice, the first.</summary>
    public static Instant Utc(DateTime local, TimeZoneInfo zone)
    {
        ArgumentNullException.ThrowIfNull(zone);
        if (zone.IsInvalidTime(local))
        {
            // Its offset before the change is that of a day before.
            return Instant.Floor(new DateTimeOffset(local, zone.GetUtcOffset(local.AddDays(-1))));
        }

        var offset = zone.IsAmbiguousTime(local) ? zone.GetAmbiguousTimeOffsets(local).Max() : zone.GetUtcOffset(local);
        return Instant.Floor(new DateTimeOffset(local, offset));
    }
}
