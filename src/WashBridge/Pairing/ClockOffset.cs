using WashBridge.Core.Time;

namespace WashBridge.Pairing;

/// <summary>How far the partner's clock is ahead of ours, from one question and its answer (RFC 5905, section 8: offset and delay).</summary>
/// <param name="Ahead">The partner's clock less ours.</param>
/// <param name="Error">It can be off by so much: half of what the way there and back took.</param>
internal readonly record struct ClockOffset(TimeSpan Ahead, TimeSpan Error)
{
    /// <summary>As between two readings of one machine's clocks.</summary>
    private static readonly TimeSpan Tolerance = TimeSpan.FromMilliseconds(20);

    /// <param name="sent">On our clock.</param>
    /// <param name="asked">When the question arrived, on the partner's clock.</param>
    /// <param name="answered">When the answer was ready, on the partner's clock.</param>
    /// <param name="received">On our clock.</param>
    public static ClockOffset Of(DateTimeOffset sent, DateTimeOffset asked, DateTimeOffset answered, DateTimeOffset received)
    {
        var ahead = (asked - sent + (answered - received)) / 2;
        var delay = received - sent - (answered - asked);
        return new ClockOffset(ahead, (delay > TimeSpan.Zero ? delay : TimeSpan.Zero) / 2);
    }

    /// <summary>What a reader of both logs sees the clock do where our reads follow the partner's; unknown where it cannot be told to 20 ms.</summary>
    public ClockShift ToOurs => Error > Tolerance ? new ClockShift(null) : new ClockShift(Ahead.Duration() <= Tolerance ? TimeSpan.Zero : -Ahead);

    /// <summary>When that was on the partner's clock.</summary>
    public Instant OnPartners(Instant ours) => ours + Ahead;
}
