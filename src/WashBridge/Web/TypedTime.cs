using System.Globalization;
using WashBridge.Orders;

namespace WashBridge.Web;

/// <summary>A local time of the site, as a browser's field sends it.</summary>
internal static class TypedTime
{
    private static readonly string[] Forms = ["yyyy-MM-dd'T'HH:mm", "yyyy-MM-dd'T'HH:mm:ss"];

    /// <returns>ISO 8601 with its offset; null where nothing was typed. Of a time that the clocks show twice the earlier one.</returns>
    /// <exception cref="TellingException">It is no time, or one that the site's clocks skip.</exception>
    public static string? Read(string field, string? text, TimeZoneInfo zone)
    {
        if (string.IsNullOrWhiteSpace(text))
        {
            return null;
        }

        if (!DateTime.TryParseExact(text.Trim(), Forms, CultureInfo.InvariantCulture, DateTimeStyles.None, out var local))
        {
            throw new TellingException($"{field}: found '{text.Trim()}'; allowed: a day and a time of {zone.Id}, like 2031-03-05T14:00");
        }

        if (zone.IsInvalidTime(local))
        {
            throw new TellingException($"{field}: found {local:yyyy-MM-dd HH:mm}; the clocks of {zone.Id} skip it; allowed: a time before or after");
        }

        var offset = zone.IsAmbiguousTime(local) ? zone.GetAmbiguousTimeOffsets(local).Max() : zone.GetUtcOffset(local);
        return new DateTimeOffset(local, offset).ToString("O", CultureInfo.InvariantCulture);
    }
}
