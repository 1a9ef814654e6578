using System.Globalization;
using WashBridge.Core.Time;

namespace WashBridge.Web.Trends;

/// <summary>The time of a form's field, in the site's zone and without it, as browsers send it.</summary>
internal static class LocalTime
{
    private static readonly string[] Forms = ["yyyy-MM-dd'T'HH:mm", "yyyy-MM-dd'T'HH:mm:ss", "yyyy-MM-dd HH:mm", "yyyy-MM-dd HH:mm:ss"];

    /// <summary>For the value of such a field, to the minute.</summary>
    public static string Field(Instant at, TimeZoneInfo zone) => TimeZoneInfo.ConvertTime(at.ToDateTimeOffset(), zone).ToString("yyyy-MM-dd'T'HH:mm", CultureInfo.InvariantCulture);

    /// <summary>
    /// ISO 8601 with the zone's offset then, as everything that is told needs it. What cannot be read is given on as it is: who takes it says what was found. When the clocks go back
    /// a time comes twice: the first is meant; one that the clocks skip is the first after it.
    /// </summary>
    /// <returns>Null: nothing was entered.</returns>
    public static string? WithZone(string? field, TimeZoneInfo zone)
    {
        if (string.IsNullOrWhiteSpace(field))
        {
            return null;
        }

        if (!DateTime.TryParseExact(field.Trim(), Forms, CultureInfo.InvariantCulture, DateTimeStyles.None, out var local))
        {
            return field.Trim();
        }

        while (zone.IsInvalidTime(local))
        {
            local = local.AddMinutes(15);
        }

        var offset = zone.IsAmbiguousTime(local) ? zone.GetAmbiguousTimeOffsets(local).Max() : zone.GetUtcOffset(local);
        return new DateTimeOffset(local, offset).ToString("yyyy-MM-dd'T'HH:mm:sszzz", CultureInfo.InvariantCulture);
    }
}
