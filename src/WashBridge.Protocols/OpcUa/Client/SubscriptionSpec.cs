namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>What is to be told, and how often (OPC 10000-4, 5.14.2). The server may revise every interval and count.</summary>
public sealed record SubscriptionSpec
{
    /// <summary>For logs.</summary>
    public string Name { get; init; } = "subscription";

    /// <summary>How often the server sends what has changed, 1 ms to 1 day.</summary>
    public required TimeSpan PublishingInterval { get; init; }

    /// <summary>
    /// After so long without a change the server says that there is none, at most 1 h; 2 s by default. Rounded up to publishing intervals. Silence for
    /// longer, and the slack for a slow network, means that the subscription is dead.
    /// </summary>
    public TimeSpan KeepAlive { get; init; } = TimeSpan.FromSeconds(2);

    /// <summary>How long the server keeps the subscription without hearing of us, at least 3 times <see cref="KeepAlive"/>, at most 1 day; 2 min by default: what is cut off for less loses nothing but what its queues cannot hold.</summary>
    public TimeSpan Lifetime { get; init; } = TimeSpan.FromMinutes(2);

    /// <summary>Most values in one message, 0 (no limit) to 1,000,000; 10,000 by default. The rest follows at once.</summary>
    public uint MaxNotificationsPerPublish { get; init; } = 10_000;

    /// <summary>Relative to the other subscriptions of the session; 0 by default.</summary>
    public byte Priority { get; init; }

    /// <summary>Their handles must be unique within the subscription.</summary>
    public required IReadOnlyList<MonitoredItemSpec> Items { get; init; }

    /// <exception cref="ArgumentException">A value is not allowed; the message says what is.</exception>
    public void Validate()
    {
        Check(PublishingInterval >= TimeSpan.FromMilliseconds(1) && PublishingInterval <= TimeSpan.FromDays(1), nameof(PublishingInterval), PublishingInterval, "1 ms to 1 day");
        Check(KeepAlive >= PublishingInterval && KeepAlive <= TimeSpan.FromHours(1), nameof(KeepAlive), KeepAlive, $"the publishing interval ({PublishingInterval}) to 1 h");
        Check(Lifetime >= 3 * KeepAlive && Lifetime <= TimeSpan.FromDays(1), nameof(Lifetime), Lifetime, $"3 times the keep-alive ({3 * KeepAlive}) to 1 day");
        Check(MaxNotificationsPerPublish <= 1_000_000, nameof(MaxNotificationsPerPublish), MaxNotificationsPerPublish, "0 to 1,000,000");
        HashSet<uint> handles = new(Items.Count);
        foreach (var item in Items)
        {
            item.Validate();
            if (!handles.Add(item.ClientHandle))
            {
                throw new ArgumentException($"two items have the handle {item.ClientHandle}: one is {item.Node}", nameof(Items));
            }
        }
    }

    private static void Check(bool isAllowed, string name, object found, string allowed)
    {
        if (!isAllowed)
        {
            throw new ArgumentOutOfRangeException(name, found, $"allowed: {allowed}");
        }
    }
}
