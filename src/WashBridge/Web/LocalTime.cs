using System.Globalization;
using WashBridge.Core.Time;
using WashBridge.Orders;

namespace WashBridge.Web;

/// <summary>The time of a form's field, in the site's zone and without it, as browsers send it. Of a time that the clocks show twice the first is meant.</summary>
internal static class LocalTime
{
    private static readonly string[] Forms = ["yyyy-MM-dd'T'HH:mm", "yyyy-MM-dd'T'HH:mm:ss", "yyyy-MM-dd HH:mm", "yyyy-MM-dd HH:mm:ss"];
    private static readonly string[] FormsOrDay = [.. Forms, "yyyy-MM-dd"];

    /// <summary>For the value of such a field, to the minute.</summary>
    public static string Field(Instant at, TimeZoneInfo zone) => Write(at, zone, "yyyy-MM-dd'T'HH:mm");

    /// <summary>The same for a field with seconds.</summary>
    public static string FieldWithSeconds(Instant at, TimeZoneInfo zone) => Write(at, zone, "yyyy-MM-dd'T'HH:mm:ss");

    /// <summary>Null: this is no local time, nor a day. Of a time that the clocks skip, one soon after it.</summary>
    public static DateTimeOffset? TimeOrDay(string text, TimeZoneInfo zone) => Read(text, FormsOrDay, zone);

    /// <summary>
    /// ISO 8601 with the zone's offset then, as everything that is told needs it. What cannot be read is given on as it is: who takes it says what was found.
    /// </summary>
    /// <returns>Null: nothing was entered.</returns>
    public static string? WithZone(string? field, TimeZoneInfo zone) =>
        string.IsNullOrWhiteSpace(field) ? null : Read(field, Forms, zone) is { } time ? time.ToString("yyyy-MM-dd'T'HH:mm:sszzz", CultureInfo.InvariantCulture) : field.Trim();

    /// <summary>As <see cref="WithZone"/>, where a time must not be taken for another: of when something begins or ends.</summary>
    /// <exception cref="TellingException">It is no time, or one that the site's clocks skip.</exception>
    public static string? Exactly(string field, string? text, TimeZoneInfo zone)
    {
        if (string.IsNullOrWhiteSpace(text))
        {
            return null;
        }

        if (!TryParse(text, Forms, out var local))
        {
            throw new TellingException($"{field}: found '{text.Trim()}'; allowed: a day and a time of {zone.Id}, like 2031-03-05T14:00");
        }

        return zone.IsInvalidTime(local)
            ? throw new TellingException($"{field}: found {local:yyyy-MM-dd HH:mm}; the clocks of {zone.Id} skip it; allowed: a time before or after")
            : WithOffset(local, zone).ToString("O", CultureInfo.InvariantCulture);
    }

    private static DateTimeOffset? Read(string text, string[] forms, TimeZoneInfo zone)
    {
        if (!TryParse(text, forms, out var local))
        {
            return null;
        }

        while (zone.IsInvalidTime(local))
        {
            local = local.AddMinutes(15);
        }

        return WithOffset(local, zone);
    }

    private static bool TryParse(string text, string[] forms, out DateTime local) => DateTime.TryParseExact(text.Trim(), forms, CultureInfo.InvariantCulture, DateTimeStyles.None, out local);

    private static DateTimeOffset WithOffset(DateTime local, TimeZoneInfo zone) =>
        new(local, zone.IsAmbiguousTime(local) ? zone.GetAmbiguousTimeOffsets(local).Max() : zone.GetUtcOffset(local));

    private static string Write(Instant at, TimeZoneInfo zone, string form) => TimeZoneInfo.ConvertTime(at.ToDateTimeOffset(), zone).ToString(form, CultureInfo.InvariantCulture);
}
