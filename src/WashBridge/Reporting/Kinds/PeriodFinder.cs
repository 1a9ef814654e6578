using System.Globalization;
using WashBridge.Analysis.Upkeep;
using WashBridge.Core.Time;

namespace WashBridge.Reporting.Kinds;

/// <summary>A period and the one before it, with which it is compared.</summary>
/// <param name="Title">As <c>Shift of 2031-03-05, 06:00 to 14:00</c>.</param>
/// <param name="Before">Of the same kind and just before; null where there is none.</param>
internal sealed record ReportPeriod(string Title, Instant From, Instant Until, (Instant From, Instant Until)? Before);

/// <summary>Finds the shift or the month that somebody wishes to see.</summary>
internal static class PeriodFinder
{
    /// <summary>How far back a shift before is looked for.</summary>
    private const int MostDays = 31;

    /// <exception cref="ReportWishException">There is no such shift.</exception>
    public static ReportPeriod Shift(ReportContext context)
    {
        var wish = context.Wish;
        if (wish.From is not null || wish.Until is not null)
        {
            return wish is { Day: null, Begins: null } ? Given("Period", context) : throw new ReportWishException("the shift: found a day or a beginning together with an instant; allowed: day and beginning, or from and until");
        }

        if (context.Site?.Shifts is not { Shifts.Count: > 0 } pattern)
        {
            throw new ReportWishException($"the shift: found {(context.Site is null ? "no site file" : "no shifts in the site's file")}; allowed: a site file with shifts, or from and until");
        }

        var calendar = new ShiftCalendar(pattern);
        var (_, last) = context.Period();
        var day = wish.Day ?? LastDay(calendar, Date(last, pattern.Zone), last);
        var shifts = calendar.On(day);
        var found = wish.Begins is { } begins ? shifts.Where(s => TimeOnly.FromDateTime(Local(s.Begin, pattern.Zone)) == begins).ToList()
            : wish.Day is null ? [.. shifts.Where(s => s.Begin < last).TakeLast(1)]
            : [.. shifts];
        if (found is not [var (from, until)])
        {
            var had = shifts.Count == 0 ? "no shift on that day" : $"shifts beginning at {string.Join(", ", shifts.Select(s => Clock(s.Begin, pattern.Zone)))}";
            throw new ReportWishException($"the shift: found {Words(day)}{(wish.Begins is { } at ? $" {at:HH:mm}" : "")}, and {had}; allowed: a day and a beginning that the site's file has");
        }

        return new ReportPeriod($"Shift of {Words(day)}, {Clock(from, pattern.Zone)} to {Clock(until, pattern.Zone)}", from, until, Before(calendar, day, from));
    }

    public static ReportPeriod Month(ReportContext context)
    {
        var wish = context.Wish;
        if (wish.From is not null || wish.Until is not null)
        {
            return wish.Month is null ? Given("Period", context) : throw new ReportWishException("the month: found a month together with an instant; allowed: one of them");
        }

        var (_, last) = context.Period();
        var first = wish.Month ?? Date(new Instant(last.UnixMicroseconds - 1), context.Zone);
        first = new DateOnly(first.Year, first.Month, 1);
        Instant Midnight(DateOnly date) => ShiftCalendar.Utc(date.ToDateTime(TimeOnly.MinValue), context.Zone);
        return new ReportPeriod($"Month {first.ToString("yyyy-MM", CultureInfo.InvariantCulture)}", Midnight(first), Midnight(first.AddMonths(1)), (Midnight(first.AddMonths(-1)), Midnight(first)));
    }

    /// <summary>The local date of an instant.</summary>
    public static DateOnly Date(Instant at, TimeZoneInfo zone) => DateOnly.FromDateTime(Local(at, zone));

    private static ReportPeriod Given(string title, ReportContext context)
    {
        var (from, until) = context.Period();
        return new ReportPeriod($"{title} from {context.Local(from)} until {context.Local(until)}", from, until, (from - (until - from), from));
    }

    private static DateOnly LastDay(ShiftCalendar calendar, DateOnly day, Instant last) =>
        Enumerable.Range(0, MostDays).Select(d => day.AddDays(-d)).FirstOrDefault(d => calendar.On(d).Any(s => s.Begin < last), day);

    private static (Instant From, Instant Until)? Before(ShiftCalendar calendar, DateOnly day, Instant from)
    {
        var before = Enumerable.Range(0, MostDays).SelectMany(d => calendar.On(day.AddDays(-d)).Reverse()).Where(s => s.Begin < from).ToList();
        return before.Count > 0 ? before[0] : null;
    }

    private static string Words(DateOnly day) => day.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);

    private static string Clock(Instant at, TimeZoneInfo zone) => Local(at, zone).ToString("HH:mm", CultureInfo.InvariantCulture);

    private static DateTime Local(Instant at, TimeZoneInfo zone) => TimeZoneInfo.ConvertTime(at.ToDateTimeOffset(), zone).DateTime;
}
