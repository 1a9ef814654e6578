using System.Globalization;
using System.Net.Http.Headers;

namespace WashBridge.Forwarding;

/// <summary>
/// The Retry-After header (RFC 9110, 10.2.3): whole seconds or a date. Some proxies send a fraction of a second. Anything else is no
/// wish at all.
/// </summary>
internal static class RetryAfter
{
    /// <summary>Nobody is left alone for longer, whatever he asks: a clock that is wrong would stop forwarding for years.</summary>
    public static readonly TimeSpan Longest = TimeSpan.FromMinutes(10);

    public static TimeSpan? Read(HttpResponseHeaders headers, DateTimeOffset now)
    {
        if (!headers.NonValidated.TryGetValues("Retry-After", out var values))
        {
            return null;
        }

        var text = values.ToString();
        if (double.TryParse(text, NumberStyles.AllowDecimalPoint | NumberStyles.AllowLeadingWhite | NumberStyles.AllowTrailingWhite, CultureInfo.InvariantCulture, out var seconds))
        {
            return seconds < Longest.TotalSeconds ? TimeSpan.FromSeconds(seconds) : Longest;
        }

        if (!DateTimeOffset.TryParseExact(text, "r", CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal, out var at))
        {
            return null;
        }

        var wait = at - now;
        return wait <= TimeSpan.Zero ? TimeSpan.Zero : wait < Longest ? wait : Longest;
    }
}
