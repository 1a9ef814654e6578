using System.Globalization;
using WashBridge.Analysis.Upkeep;
using WashBridge.Configuration.Yaml;

namespace WashBridge.Configuration.Binding;

/// <summary>When the site washes: shifts of the week and dates without work, in the site's zone.</summary>
internal static class ShiftBinder
{
    public const int MaxShifts = 50;
    public const int MaxClosed = 1000;

    private static readonly TimeSpan ShortestShift = TimeSpan.FromMinutes(15);
    private static readonly TimeSpan LongestShift = TimeSpan.FromHours(24);

    public static ShiftPattern Bind(MapBinder map, TimeZoneInfo zone)
    {
        var shifts = map.OptionalList("shifts", 0, MaxShifts).Select(n => MapBinder.Of(n, map.Problems)).OfType<MapBinder>().Select(Shift).ToList();
        var closed = map.OptionalList("closed", 0, MaxClosed).Select(n => Date(n, map.Problems)).OfType<DateOnly>();
        return new ShiftPattern(shifts, new SortedSet<DateOnly>(closed), zone);
    }

    private static Shift Shift(MapBinder map)
    {
        var days = map.List("days", 1, 7).Select(n => Scalars.Choice<DayOfWeek>(n, map.Problems)).OfType<DayOfWeek>().Distinct().ToList();
        var begin = TimeOnly.TryParseExact(map.Text("begin", TextForms.TimeOfDay), "HH:mm", CultureInfo.InvariantCulture, DateTimeStyles.None, out var time) ? time : default;
        var length = map.Duration("length", ShortestShift, LongestShift);
        map.Finish();
        return new Shift(days, begin, length);
    }

    private static DateOnly? Date(YamlNode node, ProblemList problems)
    {
        if (node is YamlScalar { Kind: ScalarKind.Text } scalar && DateOnly.TryParseExact(scalar.Text, "yyyy-MM-dd", CultureInfo.InvariantCulture, DateTimeStyles.None, out var date))
        {
            return date;
        }

        problems.Add(node, "this must be a date", "a date of the calendar, such as 2031-12-25");
        return null;
    }
}
