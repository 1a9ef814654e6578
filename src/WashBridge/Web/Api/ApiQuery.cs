using System.Globalization;
using WashBridge.Configuration;
using WashBridge.Core.Time;

namespace WashBridge.Web.Api;

/// <summary>Reads what an address asks for, or says what was found and what is allowed.</summary>
internal static class ApiQuery
{
    public const int StandardLimit = 100;
    public const int MostRows = 1000;
    public const int LongestId = 200;

    private const int LongestShown = 64;

    public static int Limit(string? text, int standard = StandardLimit, int most = MostRows) => text is null ? standard
        : int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out var limit) && limit >= 1 && limit <= most ? limit
        : throw new ApiException($"limit: found {Found(text)}; allowed: 1 to {most}");

    /// <summary>The cursor of a page before.</summary>
    public static long After(string? text) => text is null ? 0
        : long.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out var after) ? after
        : throw new ApiException($"after: found {Found(text)}; allowed: the number that the page before gives as next");

    public static string? Washer(string? id, Site site) => id is null || site.Washers.Any(w => w.Model.Washer == id) ? id
        : throw new ApiException($"washer: found {Found(id)}; allowed: {string.Join(", ", site.Washers.Select(w => w.Model.Washer))}");

    /// <summary>A time without a zone means another moment to everybody who reads it.</summary>
    public static Instant? Time(string field, string? text) => text is null ? null
        : text.Contains('T', StringComparison.Ordinal) && (text.EndsWith('Z') || text.LastIndexOfAny(['+', '-']) > text.IndexOf('T', StringComparison.Ordinal))
            && DateTimeOffset.TryParse(text, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal, out var time) ? Instant.Floor(time)
        : throw new ApiException($"{field}: found {Found(text)}; allowed: an instant with its zone, ISO 8601, like 2031-03-05T14:00:00Z; a + is written %2B in an address");

    public static (Instant From, Instant Until) Period(string? from, string? until, TimeSpan most)
    {
        var (begin, end) = (Time("from", from) ?? throw new ApiException("from: found nothing; allowed: an instant with its zone"), Time("until", until) ?? throw new ApiException("until: found nothing; allowed: an instant with its zone"));
        return end > begin && end - begin <= most ? (begin, end)
            : throw new ApiException($"until: found {end}; allowed: after from, and at most {most.TotalDays:0} days after it");
    }

    public static bool Flag(string field, string? text) => text switch
    {
        null or "false" => false,
        "true" => true,
        _ => throw new ApiException($"{field}: found {Found(text)}; allowed: true, false"),
    };

    public static string Id(string field, string? text) => text is { Length: >= 1 and <= LongestId } && !text.Any(char.IsControl) ? text
        : throw new ApiException($"{field}: found {Found(text)}; allowed: 1 to {LongestId} characters without control characters");

    public static string Found(string? text) => string.IsNullOrEmpty(text) ? "nothing" : $"'{new string([.. (text.Length > LongestShown ? text[..LongestShown] + "..." : text).Select(c => char.IsControl(c) ? '?' : c)])}'";
}
