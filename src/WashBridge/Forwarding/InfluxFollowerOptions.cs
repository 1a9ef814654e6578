namespace WashBridge.Forwarding;

/// <summary>How a follower paces itself. The defaults suit a plant's server on the local network.</summary>
internal sealed record InfluxFollowerOptions
{
    /// <summary>Lines a request, 1 to 5,000.</summary>
    public int MaxLines { get; init; } = 5000;

    /// <summary>At least this long between two requests while the follower is up to date: 20 washers would else cause 200 a second.</summary>
    public TimeSpan Gather { get; init; } = TimeSpan.FromSeconds(1);

    /// <summary>For one request; then it is tried again.</summary>
    public TimeSpan RequestTimeout { get; init; } = TimeSpan.FromSeconds(30);

    /// <summary>Before the first retry; doubles from there, with jitter.</summary>
    public TimeSpan FirstDelay { get; init; } = TimeSpan.FromSeconds(1);

    /// <summary>No wait is longer, but for a server's Retry-After (see <see cref="RetryAfter.Longest"/>).</summary>
    public TimeSpan LongestDelay { get; init; } = TimeSpan.FromMinutes(1);

    /// <summary>How often the cursor moves over log entries that need no lines, so that it does not hold retention up.</summary>
    public TimeSpan IdleCursor { get; init; } = TimeSpan.FromMinutes(1);

    /// <summary>What will not pass by itself ends it instead of being tried again: somebody is there to act.</summary>
    public bool GivesUp { get; init; }

    /// <summary>A number from 0 to 1 for the jitter; null: random.</summary>
    public Func<double>? Jitter { get; init; }
}
