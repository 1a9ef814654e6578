using System.Globalization;
using WashBridge.Reporting;

namespace WashBridge.Web.Pages.Reports;

/// <summary>What somebody wants, as an address tells it.</summary>
internal static class WishQuery
{
    /// <summary>The span of a lot where the address names none.</summary>
    private const string UsualSpan = "24h";

    public static ReportKind Kind(string? text) => Enum.TryParse<ReportKind>(text, ignoreCase: true, out var kind) && ReportDesk.Kinds.Contains(kind) ? kind : ReportKind.Certificate;

    /// <summary>The address of a kind of report, as it is written in one.</summary>
    public static string Word(ReportKind kind) => kind.ToString().ToLowerInvariant();

    /// <summary>Whether all that the kind needs is there; until then the form is shown and nothing is wrong.</summary>
    public static bool IsComplete(IQueryCollection query, ReportKind kind) => kind switch
    {
        ReportKind.Certificate => Has(query, "keg"),
        ReportKind.Deviation => Has(query, "keg") || Has(query, "setpoint"),
        ReportKind.Shift => Has(query, "day"),
        ReportKind.Month => Has(query, "month"),
        _ => Has(query, "about"),
    };

    /// <exception cref="ReportWishException">A field cannot be read.</exception>
    public static ReportWish Read(IQueryCollection query, TimeZoneInfo zone, DateTimeOffset now)
    {
        var kind = Kind(query["about"]);
        var wish = new ReportWish(kind) { Washer = Text(query, "washer") };
        return kind switch
        {
            ReportKind.Certificate => wish with { Keg = Text(query, "keg"), Cycle = Text(query, "cycle") },
            ReportKind.Deviation => wish with { Keg = Text(query, "keg"), Cycle = Text(query, "cycle"), Setpoint = Text(query, "setpoint") },
            ReportKind.Shift => wish with { Day = Date(query, "day", "yyyy-MM-dd", "2031-03-05"), Begins = Time(query) },
            ReportKind.Month => wish with { Month = Date(query, "month", "yyyy-MM", "2031-03") },
            ReportKind.Lot => Lot(wish, query, zone, now),
            _ => wish,
        };
    }

    public static Period Period(IQueryCollection query, TimeZoneInfo zone, DateTimeOffset now) =>
        Web.Period.Parse(query["from"], query["until"], query["span"], UsualSpan, zone, now);

    private static ReportWish Lot(ReportWish wish, IQueryCollection query, TimeZoneInfo zone, DateTimeOffset now)
    {
        var period = Period(query, zone, now);
        return period.Problem is { } problem
            ? throw new ReportWishException($"period: found {problem}; allowed: two times, the first before the second, or one of {string.Join(", ", Web.Period.Spans.Keys)}")
            : wish with { From = period.From, Until = period.Until };
    }

    private static DateOnly? Date(IQueryCollection query, string field, string form, string example) =>
        Text(query, field) is not { } text ? null
        : DateOnly.TryParseExact(text, form, CultureInfo.InvariantCulture, DateTimeStyles.None, out var date) ? date
        : throw new ReportWishException($"{field}: found {text}; allowed: as {example}");

    private static TimeOnly? Time(IQueryCollection query) =>
        Text(query, "begins") is not { } text ? null
        : TimeOnly.TryParseExact(text, "HH:mm", CultureInfo.InvariantCulture, DateTimeStyles.None, out var time) ? time
        : throw new ReportWishException($"begins: found {text}; allowed: a time such as 06:00");

    private static bool Has(IQueryCollection query, string field) => Text(query, field) is not null;

    private static string? Text(IQueryCollection query, string field) => query[field].ToString().Trim() is { Length: > 0 } text ? text : null;
}
