using System.Globalization;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Web.Pages.Alarms;

/// <summary>What became of alarms in a period of whole days of the site, the latest first.</summary>
/// <param name="From">The first day.</param>
/// <param name="Through">The last day.</param>
/// <param name="Changes">At most <see cref="Most"/>.</param>
/// <param name="LeftOut">Older ones of the period.</param>
internal sealed record AlarmHistory(DateOnly From, DateOnly Through, IReadOnlyList<AlarmChanged> Changes, int LeftOut)
{
    public const int Most = 500;
    private const int UsualDays = 7;
    private const string Form = "yyyy-MM-dd";

    /// <param name="from">As a browser's field has it; what is no day counts as left out.</param>
    /// <param name="washer">Null or empty: all.</param>
    public static AlarmHistory Read(IHistorianReader historian, string? from, string? through, string? washer, TimeZoneInfo zone, DateTimeOffset now)
    {
        var today = DateOnly.FromDateTime(TimeZoneInfo.ConvertTime(now, zone).DateTime);
        var last = Day(through) ?? today;
        var first = Day(from) ?? last.AddDays(1 - UsualDays);
        (first, last) = first <= last ? (first, last) : (last, first);
        var changes = historian.ReadEvents(new EventQuery
        {
            Washer = string.IsNullOrEmpty(washer) ? null : washer,
            Kinds = ["alarm-changed"],
            From = Begin(first, zone),
            Until = Begin(last.AddDays(1), zone),
        }).OfType<AlarmChanged>().ToList();
        changes.Reverse();
        return new AlarmHistory(first, last, [.. changes.Take(Most)], Math.Max(0, changes.Count - Most));
    }

    public static string Write(DateOnly day) => day.ToString(Form, CultureInfo.InvariantCulture);

    private static DateOnly? Day(string? text) => DateOnly.TryParseExact(text, Form, CultureInfo.InvariantCulture, DateTimeStyles.None, out var day) && day.Year is > 1970 and < 9000 ? day : null;

    private static Instant Begin(DateOnly day, TimeZoneInfo zone)
    {
        var local = day.ToDateTime(TimeOnly.MinValue);
        while (zone.IsInvalidTime(local))
        {
            local = local.AddMinutes(15);
        }

        return Instant.Floor(new DateTimeOffset(local, zone.GetUtcOffset(local)));
    }
}
