namespace WashBridge.Messaging;

/// <summary>How a follower paces itself.</summary>
internal sealed record MqttFollowerOptions
{
    public static readonly TimeSpan LongestHeartbeat = TimeSpan.FromSeconds(10);

    /// <summary>Log entries that are sent before the broker is asked whether it has them, 1 to 5,000.</summary>
    public int MaxEntries { get; init; } = 500;

    /// <summary>At least this long between two messages of a washer while the follower is up to date.</summary>
    public TimeSpan Gather { get; init; } = TimeSpan.FromMilliseconds(250);

    /// <summary>How often a quiet connection is asked for a sign of life, at most <see cref="LongestHeartbeat"/>.</summary>
    public TimeSpan Heartbeat { get; init; } = LongestHeartbeat;

    /// <summary>Before the first retry; doubles from there, with jitter.</summary>
    public TimeSpan FirstDelay { get; init; } = TimeSpan.FromSeconds(1);

    public TimeSpan LongestDelay { get; init; } = TimeSpan.FromMinutes(1);

    /// <summary>How often the cursor moves over log entries that need no message, so that it does not hold retention up.</summary>
    public TimeSpan IdleCursor { get; init; } = TimeSpan.FromMinutes(1);

    /// <summary>A number from 0 to 1 for the jitter; null: random.</summary>
    public Func<double>? Jitter { get; init; }
}

/// <summary>What keeps a follower from delivering.</summary>
/// <param name="NeedsAction">It will not pass by itself: somebody has to change the configuration, at this end or the other.</param>
/// <param name="Reason">For people: the broker's own words where it gave some.</param>
/// <param name="Since">When it began.</param>
/// <param name="Attempts">Attempts in vain since then.</param>
internal sealed record MqttCondition(bool NeedsAction, string Reason, DateTimeOffset Since, int Attempts);

/// <summary>How a follower stands, for pages.</summary>
/// <param name="Follower">As in the historian, such as <c>mqtt/plant</c>.</param>
/// <param name="Cursor">All log entries up to here are with the broker, or held for a washer that is not read.</param>
/// <param name="Condition">Null while all is well.</param>
/// <param name="IsOnline">The broker has the birth certificates of this session.</param>
/// <param name="Held">Entries of the log, at most so many, of which a washer's history is still to be told.</param>
internal sealed record MqttFollowerStatus(string Follower, long Cursor, MqttCondition? Condition, bool IsOnline, long Held);
