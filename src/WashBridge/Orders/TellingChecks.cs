using System.Globalization;
using WashBridge.Core.Records;
using WashBridge.Core.Time;

namespace WashBridge.Orders;

/// <summary>What everything that is told is checked for.</summary>
internal static class TellingChecks
{
    public const int LongestName = 64;
    public const int LongestNote = 500;

    private static readonly TimeSpan LongestAgo = TimeSpan.FromDays(366);

    public static KnownWasher Washer(string? id, IReadOnlyList<KnownWasher> washers) =>
        id is null && washers.Count == 1 ? washers[0]
        : washers.FirstOrDefault(w => w.Id == id) ?? throw new TellingException($"washer: found {Found(id)}; there {(washers.Count == 1 ? "is" : "are")} {(washers.Count == 0 ? "none" : string.Join(", ", washers.Select(w => w.Id)))}");

    public static TimeBounds Now(DateTimeOffset now) => new(Instant.Floor(now), Instant.Ceiling(now));

    /// <summary>When it was done: as told, or now.</summary>
    public static TimeBounds At(string? told, DateTimeOffset now) => told is null ? Now(now) : Past(told, now);

    /// <summary>A time without a zone means another moment to everybody who reads it.</summary>
    public static Instant Time(string field, string text) =>
        DateTimeOffset.TryParse(text, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal, out var time) && (text.EndsWith('Z') || HasOffset(text))
            ? Instant.Floor(time)
            : throw new TellingException($"{field}: found {Found(text)}; allowed: an instant with its zone, like 2031-03-05T14:00:00+01:00");

    public static string Text(string field, string? text, int most, string rule) =>
        !string.IsNullOrWhiteSpace(text) && text.Length <= most && !text.Any(char.IsControl)
            ? text.Trim()
            : throw new TellingException($"{field}: found {Found(text)}; {rule}, in 1 to {most} characters without control characters");

    /// <summary>A text that may be left out.</summary>
    public static string Note(string field, string? text) => string.IsNullOrWhiteSpace(text) ? "" : Text(field, text, LongestNote, "it is one line");

    public static string KegId(string? keg) => Text("keg", keg, LongestName, "the keg's id is needed");

    public static int OneOf(string field, string? text, IReadOnlyList<string> allowed)
    {
        var at = allowed.ToList().IndexOf(text ?? "");
        return at >= 0 ? at : throw new TellingException($"{field}: found {Found(text)}; allowed: {string.Join(", ", allowed)}");
    }

    public static string By(string? told, Teller? teller) => teller?.Name ?? Text("by", told, LongestName, "who did it must be named");

    public static Act Act(string? by, string? reason, DateTimeOffset now, Teller? teller, string? neededReason = null) => new()
    {
        By = By(by, teller),
        Role = teller?.Role,
        Reason = neededReason is null ? Note("reason", reason) : Text("reason", reason, LongestNote, neededReason),
        Means = teller?.Means,
        Entered = Instant.Floor(now),
    };

    public static Entered? Entered(DateTimeOffset now, Teller? teller) => teller is null ? null : new Entered(Instant.Floor(now), teller.Means, teller.Role);

    public static string Found(string? text) => string.IsNullOrWhiteSpace(text) ? "nothing" : $"'{(text.Length > LongestName ? text[..LongestName] + "..." : text)}'";

    private static TimeBounds Past(string text, DateTimeOffset now)
    {
        var at = Time("at", text);
        return at <= Instant.Ceiling(now) && Instant.Floor(now) - at <= LongestAgo
            ? TimeBounds.At(at)
            : throw new TellingException($"at: found {at}; allowed: from {Instant.Floor(now - LongestAgo)} to now");
    }

    private static bool HasOffset(string text) => text.LastIndexOfAny(['+', '-']) is var sign && sign > text.IndexOf('T', StringComparison.Ordinal) && text.Contains('T', StringComparison.Ordinal);
}
