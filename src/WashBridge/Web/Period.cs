using System.Globalization;
using WashBridge.Core.Time;

namespace WashBridge.Web;

/// <summary>A period as an address tells it: a span that ends now, or two times.</summary>
/// <param name="From">Included.</param>
/// <param name="Until">Not included; later than <paramref name="From"/>.</param>
/// <param name="Span">Which of <see cref="Spans"/>; null: two times.</param>
/// <param name="Problem">What could not be read, and what is allowed; the period is then the usual one. Null: all is well.</param>
public sealed record Period(Instant From, Instant Until, string? Span, string? Problem = null)
{
    /// <summary>By their names in addresses.</summary>
    public static IReadOnlyDictionary<string, TimeSpan> Spans { get; } = new Dictionary<string, TimeSpan>
    {
        ["15m"] = TimeSpan.FromMinutes(15), ["1h"] = TimeSpan.FromHours(1), ["8h"] = TimeSpan.FromHours(8), ["24h"] = TimeSpan.FromHours(24),
        ["7d"] = TimeSpan.FromDays(7), ["30d"] = TimeSpan.FromDays(30), ["365d"] = TimeSpan.FromDays(365),
    };

    private static readonly TimeSpan Longest = TimeSpan.FromDays(3660);

    public bool EndsNow => Span is not null;

    /// <param name="from">ISO 8601 with a zone, or a local time of the site; null or empty: not given.</param>
    /// <param name="until">As <paramref name="from"/>.</param>
    /// <param name="span">A key of <see cref="Spans"/>.</param>
    /// <param name="usual">The span where the address gives none.</param>
    /// <param name="zone">The site's.</param>
    /// <param name="now">Now.</param>
    public static Period Parse(string? from, string? until, string? span, string usual, TimeZoneInfo zone, DateTimeOffset now)
    {
        var end = Instant.Ceiling(now);
        var standard = new Period(end - Spans[usual], end, usual);
        var (start, stop) = (Read(from, zone), Read(until, zone));
        if ((!string.IsNullOrWhiteSpace(from) && start is null) || (!string.IsNullOrWhiteSpace(until) && stop is null))
        {
            return standard with { Problem = start is null && !string.IsNullOrWhiteSpace(from) ? from : until };
        }

        if (start is null && stop is null)
        {
            return string.IsNullOrEmpty(span) ? standard : Spans.TryGetValue(span, out var length) ? new Period(end - length, end, span) : standard with { Problem = span };
        }

        var last = stop ?? end;
        var first = start ?? last - Spans[usual];
        return first < last && last - first <= Longest ? new Period(first, last, null) : standard with { Problem = $"{from} – {until}" };
    }

    /// <summary>As the part of an address behind the question mark.</summary>
    public string Query => Span is not null ? $"span={Span}" : $"from={Uri.EscapeDataString(From.ToString())}&until={Uri.EscapeDataString(Until.ToString())}";

    private static Instant? Read(string? text, TimeZoneInfo zone)
    {
        if (string.IsNullOrWhiteSpace(text))
        {
            return null;
        }

        if (LocalTime.TimeOrDay(text, zone) is { } local)
        {
            return Within(local);
        }

        return DateTimeOffset.TryParse(text, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal, out var time) ? Within(time) : null;
    }

    private static Instant? Within(DateTimeOffset time) => time.Year is >= 1970 and < 9000 ? Instant.Floor(time) : null;
}
