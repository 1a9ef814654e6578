namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>
/// Narrows down what the server's clock shows, reading by reading; see <see cref="ClockOffset"/>. Some servers show it in steps of up to a second: the first
/// contradictions teach how coarse they are. Safe to use from several threads.
/// </summary>
internal sealed class ServerClock(double drift, TimeSpan resolution, TimeProvider time)
{
    /// <summary>Contradictions smaller than this come from clocks that are shown in coarse steps more often than from clocks that were set.</summary>
    private static readonly TimeSpan Coarsest = TimeSpan.FromSeconds(2);

    private readonly Lock gate = new();
    private TimeSpan step = resolution;
    private ClockOffset? current;

    public ClockOffset? Current
    {
        get
        {
            lock (gate)
            {
                return current;
            }
        }
    }

    /// <summary>Takes in that the server's clock showed <paramref name="shown"/> at some moment between two stamps.</summary>
    /// <returns>False if that contradicts what was known: the clock has been set, and the bounds begin anew.</returns>
    public bool Add(DateTime shown, long sent, long received)
    {
        lock (gate)
        {
            var roundTrip = time.GetElapsedTime(sent, received);

            // It may have been shown right at the end, or at the beginning and be further by now; and it is shown in steps.
            var fresh = new ClockOffset(
                received,
                shown,
                Later(shown, roundTrip.Ticks + step.Ticks + (long)Math.Ceiling(roundTrip.Ticks * drift)),
                time.GetUtcNow().UtcDateTime - time.GetElapsedTime(received),
                drift,
                time.TimestampFrequency,
                current?.Steps ?? 0);
            if (current is not { } known)
            {
                current = fresh;
                return true;
            }

            var elapsed = time.GetElapsedTime(known.Stamp, received).Ticks;
            var allowance = (long)Math.Ceiling(Math.Abs(elapsed) * drift);
            var earliest = Max(fresh.Earliest, Later(known.Earliest, elapsed - allowance));
            var latest = Min(fresh.Latest, Later(known.Latest, elapsed + allowance));
            var isConsistent = earliest <= latest;
            if (!isConsistent && earliest - latest < Coarsest)
            {
                step = Shorter(step + (earliest - latest), Coarsest);
            }

            current = isConsistent ? fresh with { Earliest = earliest, Latest = latest } : fresh with { Steps = known.Steps + 1 };
            return isConsistent;
        }
    }

    private static DateTime Later(DateTime time, long ticks) =>
        new(Math.Clamp(time.Ticks + ticks, DateTime.MinValue.Ticks, DateTime.MaxValue.Ticks), DateTimeKind.Utc);

    private static TimeSpan Shorter(TimeSpan a, TimeSpan b) => a < b ? a : b;

    private static DateTime Max(DateTime a, DateTime b) => a > b ? a : b;

    private static DateTime Min(DateTime a, DateTime b) => a < b ? a : b;
}
