namespace WashBridge.Forwarding;

/// <summary>What keeps a follower from delivering.</summary>
/// <param name="Failure">What kind.</param>
/// <param name="Reason">For people: the server's own words where it gave some.</param>
/// <param name="Since">When it began.</param>
/// <param name="Attempts">Attempts in vain since then.</param>
internal sealed record InfluxCondition(InfluxFailure Failure, string Reason, DateTimeOffset Since, int Attempts)
{
    /// <summary>It will not pass by itself: somebody has to change the configuration, at this end or the other.</summary>
    public bool NeedsAction => Failure.NeedsAction();
}

/// <summary>How a follower stands, for pages and metrics.</summary>
internal sealed record InfluxFollowerStatus
{
    /// <summary>As in the historian, such as <c>influx/plant</c>.</summary>
    public required string Follower { get; init; }

    /// <summary>All log entries up to here are delivered or set aside.</summary>
    public required long Cursor { get; init; }

    /// <summary>Log entries behind the cursor that are still to go.</summary>
    public long Backlog { get; init; }

    /// <summary>Lines accepted since the start of the service. Lines sent again count again.</summary>
    public long LinesDelivered { get; init; }

    public DateTimeOffset? LastDelivery { get; init; }

    /// <summary>Lines set aside, ever.</summary>
    public long LinesSetAside { get; init; }

    /// <summary>Numbers left out, ever, because InfluxDB has no form for NaN and infinities.</summary>
    public long FieldsOmitted { get; init; }

    /// <summary>Null while all is well.</summary>
    public InfluxCondition? Condition { get; init; }
}
