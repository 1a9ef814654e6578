using WashBridge.Core.Time;

namespace WashBridge.Forwarding;

/// <summary>
/// Timestamps of points, nanoseconds since 1970. WashBridge knows microseconds; the three digits below them tell points apart that
/// would otherwise be one (InfluxDB merges points of the same measurement, tags and time). They follow from the content alone, so that
/// sending again, even from another historian that read the same recording, meets the same point.
/// </summary>
internal static class PointTime
{
    /// <summary>A prime: ids that differ in one character never share a remainder.</summary>
    private const int Modulus = 97;

    /// <summary>How many repeats of the same place in a programme are told apart for certain.</summary>
    private const int Repeats = 10;

    /// <summary>The latest instant at which the event can have happened; below the microsecond, digits that follow from its id.</summary>
    /// <exception cref="LineProtocolException">Outside of what InfluxDB can hold (years 1678 to 2261).</exception>
    public static long Of(TimeBounds at, string id) => Nanoseconds(at.Latest, Below(id));

    /// <summary>The latest instant at which it can have happened; below the microsecond, its turn among the changes of the same thing at that instant: the last of them is the one that stands.</summary>
    /// <exception cref="LineProtocolException">Outside of what InfluxDB can hold (years 1678 to 2261).</exception>
    public static long InTurn(TimeBounds at, int turn) => Nanoseconds(at.Latest, Math.Min(turn, 999));

    /// <summary>
    /// The last digit is the number of the repeat (<c>vent-2</c> after <c>vent</c> in the same pass): steps that nobody saw share the
    /// bounds of the gap that hides them and everything else but this. The two digits before are a remainder of the rest of the id.
    /// </summary>
    private static int Below(string id)
    {
        var (remainder, repeats) = (0, 0);
        for (var i = 0; i < id.Length; i++)
        {
            if (id[i] == '-' && NumberAfter(id, i) is { Length: > 0 } number)
            {
                repeats += number[^1] - '0';
                i += number.Length;
            }
            else
            {
                remainder = ((remainder * 31) + id[i]) % Modulus;
            }
        }

        return (remainder * Repeats) + (repeats % Repeats);
    }

    /// <summary>The digits behind a hyphen, if they end a part of the path.</summary>
    private static ReadOnlySpan<char> NumberAfter(string id, int hyphen)
    {
        var rest = id.AsSpan(hyphen + 1);
        var length = rest.IndexOfAnyExceptInRange('0', '9') is var end and >= 0 ? end : rest.Length;
        return length == rest.Length || rest[length] == '/' ? rest[..length] : [];
    }

    /// <summary>The latest instant at which the value can have held; below the microsecond, the width of the bounds modulo 1,000 us.</summary>
    /// <exception cref="LineProtocolException">Outside of what InfluxDB can hold (years 1678 to 2261).</exception>
    public static long Of(TimeBounds at) => Nanoseconds(at.Latest, (int)((at.Latest.UnixMicroseconds - at.Earliest.UnixMicroseconds) % 1000));

    private static long Nanoseconds(Instant at, int below)
    {
        // The server's limits are two short of what 64 bits hold.
        var nanoseconds = ((Int128)at.UnixMicroseconds * 1000) + below;
        return nanoseconds > long.MinValue + 1 && nanoseconds < long.MaxValue
            ? (long)nanoseconds
            : throw new LineProtocolException($"the time {at.UnixMicroseconds} us since 1970 is outside of what InfluxDB can hold");
    }
}
