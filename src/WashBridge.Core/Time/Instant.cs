using System.Globalization;
using System.Text.Json.Serialization;

namespace WashBridge.Core.Time;

/// <summary>A point in wall-clock time, UTC, to the microsecond. Leap seconds are not counted (POSIX time).</summary>
/// <param name="UnixMicroseconds">Microseconds since 1970-01-01T00:00:00Z.</param>
[JsonConverter(typeof(InstantJsonConverter))]
public readonly record struct Instant(long UnixMicroseconds) : IComparable<Instant>
{
    private const string Pattern = "yyyy-MM-dd'T'HH:mm:ss.ffffff'Z'";

    /// <summary>The last microsecond not after <paramref name="time"/>.</summary>
    public static Instant Floor(DateTimeOffset time) =>
        new(Math.DivRem(time.UtcTicks - DateTimeOffset.UnixEpoch.Ticks, TimeSpan.TicksPerMicrosecond) is var (q, r) && r < 0 ? q - 1 : q);

    /// <summary>The first microsecond not before <paramref name="time"/>.</summary>
    public static Instant Ceiling(DateTimeOffset time)
    {
        var floor = Floor(time);
        return floor.ToDateTimeOffset() < time ? new Instant(floor.UnixMicroseconds + 1) : floor;
    }

    public static Instant Min(Instant a, Instant b) => a < b ? a : b;

    public static Instant Max(Instant a, Instant b) => a > b ? a : b;

    public DateTimeOffset ToDateTimeOffset() => DateTimeOffset.UnixEpoch.AddTicks(UnixMicroseconds * TimeSpan.TicksPerMicrosecond);

    public int CompareTo(Instant other) => UnixMicroseconds.CompareTo(other.UnixMicroseconds);

    public static Instant operator +(Instant at, TimeSpan span) => new(at.UnixMicroseconds + (span.Ticks / TimeSpan.TicksPerMicrosecond));

    public static Instant operator -(Instant at, TimeSpan span) => new(at.UnixMicroseconds - (span.Ticks / TimeSpan.TicksPerMicrosecond));

    public static TimeSpan operator -(Instant later, Instant earlier) =>
        TimeSpan.FromTicks((later.UnixMicroseconds - earlier.UnixMicroseconds) * TimeSpan.TicksPerMicrosecond);

    public static bool operator <(Instant a, Instant b) => a.UnixMicroseconds < b.UnixMicroseconds;

    public static bool operator >(Instant a, Instant b) => a.UnixMicroseconds > b.UnixMicroseconds;

    public static bool operator <=(Instant a, Instant b) => a.UnixMicroseconds <= b.UnixMicroseconds;

    public static bool operator >=(Instant a, Instant b) => a.UnixMicroseconds >= b.UnixMicroseconds;

    /// <summary>ISO 8601, UTC, six decimals.</summary>
    public override string ToString() => ToDateTimeOffset().ToString(Pattern, CultureInfo.InvariantCulture);

    /// <summary>Reads what <see cref="ToString"/> writes, and any ISO 8601 instant with a zone.</summary>
    public static Instant Parse(string text) => Floor(DateTimeOffset.Parse(text, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal));
}
