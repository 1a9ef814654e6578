using WashBridge.Core.Time;

namespace WashBridge.Forwarding;

/// <summary>
/// Timestamps of points, nanoseconds since 1970. WashBridge knows microseconds; the three digits below them tell points apart that
/// would otherwise be one (InfluxDB merges points of the same measurement, tags and time). They follow from the content alone, so that
/// sending again, even from another historian that read the same recording, meets the same point.
/// </summary>
internal static class PointTime
{
    /// <summary>The largest prime below 1,000, so that ids which differ in one character, or in a counter of up to two digits, never share a remainder.</summary>
    private const int Modulus = 997;

    /// <summary>The latest instant at which the event can have happened; below the microsecond, a remainder of its id.</summary>
    /// <exception cref="LineProtocolException">Outside of what InfluxDB can hold (years 1678 to 2261).</exception>
    public static long Of(TimeBounds at, string id)
    {
        var remainder = 0;
        foreach (var character in id)
        {
            remainder = ((remainder * 31) + character) % Modulus;
        }

        return Nanoseconds(at.Latest, remainder);
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
