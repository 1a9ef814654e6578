namespace WashBridge.Analysis.Upkeep;

/// <summary>One stretch of a week in which the site washes, in local time.</summary>
/// <param name="Days">Days of the week on which it begins.</param>
/// <param name="Begin">Local time at which it begins.</param>
/// <param name="Length">Above 0, at most 24 h; it may run past midnight.</param>
public sealed record Shift(IReadOnlyList<DayOfWeek> Days, TimeOnly Begin, TimeSpan Length);

/// <summary>The site's week, by which cycles become calendar time.</summary>
/// <param name="Shifts">Empty: at all times.</param>
/// <param name="Closed">Local dates without work.</param>
/// <param name="Zone">Whose local time.</param>
public sealed record ShiftPattern(IReadOnlyList<Shift> Shifts, IReadOnlySet<DateOnly> Closed, TimeZoneInfo Zone)
{
    public static ShiftPattern Always { get; } = new([], new HashSet<DateOnly>(), TimeZoneInfo.Utc);
}
