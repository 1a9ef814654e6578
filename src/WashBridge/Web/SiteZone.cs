using System.Globalization;
using WashBridge.Configuration;
using WashBridge.Core.Time;

namespace WashBridge.Web;

/// <summary>Times as the site's people read them: in its zone, with seconds, each with its offset.</summary>
internal sealed class SiteZone(Site site)
{
    public TimeZoneInfo Zone => site.Zone;

    /// <summary>Such as <c>2031-03-05 14:00:03 +01:00</c>.</summary>
    public string Full(Instant instant) => Local(instant).ToString("yyyy-MM-dd HH:mm:ss zzz", CultureInfo.InvariantCulture);

    /// <summary>Such as <c>14:00:03 +01:00</c>, where the day is told beside it.</summary>
    public string Clock(Instant instant) => Local(instant).ToString("HH:mm:ss zzz", CultureInfo.InvariantCulture);

    /// <summary>For machines: ISO 8601.</summary>
    public string Machine(Instant instant) => Local(instant).ToString("O", CultureInfo.InvariantCulture);

    public DateTimeOffset Local(Instant instant) => TimeZoneInfo.ConvertTime(instant.ToDateTimeOffset(), site.Zone);
}
