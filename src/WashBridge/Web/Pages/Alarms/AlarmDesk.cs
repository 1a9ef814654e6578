using System.Globalization;
using WashBridge.Analysing;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Orders;
using WashBridge.Web.Accounts;

namespace WashBridge.Web.Pages.Alarms;

/// <summary>Takes the orders of the alarm pages' forms: the same checks as for those that come by command or request.</summary>
internal sealed class AlarmDesk(Site site, RecordDesk desk, Acting acting)
{
    /// <summary>Hours for which an alarm is mostly shelved.</summary>
    public static readonly IReadOnlyList<int> Hours = [1, 4, 8, 24, 72, 168];

    /// <param name="order">As in <see cref="Telling.Orders"/>.</param>
    /// <param name="hours">To shelve for so long, where <paramref name="until"/> says nothing.</param>
    /// <param name="until">Local time of the site, as a browser's field has it: <c>2031-03-05T14:00</c>.</param>
    /// <exception cref="TellingException">It cannot be taken; nothing is stored.</exception>
    public WashEvent Take(string washer, string alarm, string? order, string? by, string? reason, string? hours, string? until)
    {
        var teller = acting.Teller(by);
        return desk.Take((historian, now) =>
        {
            var end = order == "shelve" ? EndOf(hours, until, site.Zone, now) : null;
            return Telling.Order(new ToldOrder(washer, alarm, order, by, reason, end), Telling.WashersOf(site), AlarmBoard.Read(historian, washer), now, teller);
        });
    }

    /// <summary>An instant with its zone, or null where neither is given.</summary>
    /// <exception cref="TellingException">It is no time, or one that the site's clocks skip.</exception>
    internal static string? EndOf(string? hours, string? until, TimeZoneInfo zone, DateTimeOffset now)
    {
        // Of a time that the clocks show twice the earlier one: nothing is out of sight for longer than was meant.
        if (LocalTime.Exactly("until", until, zone) is { } end)
        {
            return end;
        }

        if (string.IsNullOrWhiteSpace(hours))
        {
            return null;
        }

        return int.TryParse(hours, NumberStyles.None, CultureInfo.InvariantCulture, out var count) && Hours.Contains(count)
            ? (now + TimeSpan.FromHours(count)).ToString("O", CultureInfo.InvariantCulture)
            : throw new TellingException($"for: found '{hours}'; allowed: {string.Join(", ", Hours)} hours");
    }
}
