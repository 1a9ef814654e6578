using WashBridge.Core.Time;

namespace WashBridge.Simulator.Polling;

/// <summary>How often one group of signals is read.</summary>
/// <param name="Number">0 to 255; as in <see cref="Registers.MappedRegister.Group"/>.</param>
/// <param name="Every">From one poll's due time to the next one's.</param>
/// <param name="Heartbeat">A full frame at least this often.</param>
public sealed record VirtualPollGroup(int Number, TimeSpan Every, TimeSpan Heartbeat);

/// <summary>The bridge's side of the connection, in virtual time.</summary>
public sealed record PollerOptions
{
    public int Seed { get; init; } = 1;

    /// <summary>What the bridge's wall clock reads at virtual time zero.</summary>
    public Instant Start { get; init; } = Instant.Parse("2031-03-05T08:00:00Z");

    /// <summary>Virtual time of the first poll: nobody reads the washer before.</summary>
    public TimeSpan Begin { get; init; }

    public IReadOnlyList<VirtualPollGroup> Groups { get; init; } =
    [
        new(0, TimeSpan.FromMilliseconds(100), TimeSpan.FromSeconds(10)),
        new(1, TimeSpan.FromMilliseconds(500), TimeSpan.FromSeconds(30)),
        new(2, TimeSpan.FromSeconds(1), TimeSpan.FromSeconds(60)),
    ];

    /// <summary>A poll starts up to this much after it is due.</summary>
    public TimeSpan Jitter { get; init; } = TimeSpan.FromMilliseconds(4);

    /// <summary>From sending a request to the controller taking the values, and again to the response: at least.</summary>
    public TimeSpan DelayMinimum { get; init; } = TimeSpan.FromMilliseconds(0.5);

    /// <summary>At most; not counting slow replies.</summary>
    public TimeSpan DelayMaximum { get; init; } = TimeSpan.FromMilliseconds(8);

    public TimeSpan Timeout { get; init; } = TimeSpan.FromSeconds(1);

    /// <summary>From a failure to the next attempt, at least.</summary>
    public TimeSpan ReconnectDelay { get; init; } = TimeSpan.FromMilliseconds(300);

    /// <summary>Chance that a poll does not take place: an overrun, nothing is recorded.</summary>
    public double LostChance { get; init; }

    /// <summary>Chance that a request gets no reply.</summary>
    public double FailureChance { get; init; }
}
