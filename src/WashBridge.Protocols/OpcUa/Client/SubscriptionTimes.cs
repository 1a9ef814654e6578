using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>Keep-alive and lifetime are counted in publishing intervals (OPC 10000-4, 5.14.2); a lifetime is at least three keep-alives.</summary>
internal static class SubscriptionTimes
{
    public static CreateSubscriptionRequest Request(SubscriptionSpec spec)
    {
        var (keepAlive, lifetime) = Counts(spec, spec.PublishingInterval);
        return new CreateSubscriptionRequest(spec.PublishingInterval.TotalMilliseconds, lifetime, keepAlive, spec.MaxNotificationsPerPublish, PublishingEnabled: true, spec.Priority);
    }

    /// <summary>If the server publishes at another interval than asked for, the counts must be others too. Null: what it gave is as good as what was asked for.</summary>
    public static ModifySubscriptionRequest? Correction(SubscriptionSpec spec, CreateSubscriptionResponse created)
    {
        var interval = Interval(created.RevisedPublishingInterval);
        var (asked, _) = Counts(spec, spec.PublishingInterval);
        var (keepAlive, lifetime) = Counts(spec, interval);
        return keepAlive == asked
            ? null
            : new ModifySubscriptionRequest(created.SubscriptionId, created.RevisedPublishingInterval, lifetime, keepAlive, spec.MaxNotificationsPerPublish, spec.Priority);
    }

    /// <summary>What a server says, as a time to reckon with: 1 ms to 1 day, whatever it says.</summary>
    /// <param name="milliseconds">Any number, or none.</param>
    public static TimeSpan Interval(double milliseconds) =>
        milliseconds >= 1 ? TimeSpan.FromMilliseconds(Math.Min(milliseconds, TimeSpan.FromDays(1).TotalMilliseconds)) : TimeSpan.FromMilliseconds(1);

    /// <summary>At most 1,000 days.</summary>
    public static TimeSpan Multiple(TimeSpan interval, uint count) => interval.TotalDays * count < 1000 ? interval * count : TimeSpan.FromDays(1000);

    private static (uint KeepAlive, uint Lifetime) Counts(SubscriptionSpec spec, TimeSpan interval)
    {
        var keepAlive = (uint)Math.Clamp(Math.Ceiling(spec.KeepAlive / interval), 1, uint.MaxValue / 4);
        return (keepAlive, (uint)Math.Max(3L * keepAlive, Math.Min(uint.MaxValue, Math.Ceiling(spec.Lifetime / interval))));
    }
}
