using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>What a client asked of a subscription, as far as the server grants it (OPC 10000-4, 5.14.2).</summary>
internal sealed record SubscriptionSettings(TimeSpan PublishingInterval, uint LifetimeCount, uint KeepAliveCount, int MaxNotifications, byte Priority)
{
    /// <summary>Where a client leaves it to the server.</summary>
    private const uint DefaultKeepAliveCount = 10;

    /// <summary>Grants at least three keep-alives within a lifetime (OPC 10000-4, 5.14.2.2), and no longer lifetime than allowed.</summary>
    public static SubscriptionSettings Revise(double interval, uint lifetime, uint keepAlive, uint maxNotifications, byte priority, UaServerLimits limits)
    {
        var least = limits.MinPublishingInterval.TotalMilliseconds;
        var milliseconds = interval > least ? Math.Min(interval, limits.MaxPublishingInterval.TotalMilliseconds) : least;
        var mostCycles = (uint)Math.Clamp(limits.MaxSubscriptionLifetime.TotalMilliseconds / milliseconds, 3, int.MaxValue);
        var keepAliveCount = Math.Clamp(keepAlive == 0 ? DefaultKeepAliveCount : keepAlive, 1, mostCycles / 3);
        var lifetimeCount = Math.Clamp(lifetime, keepAliveCount * 3, mostCycles);
        var max = maxNotifications == 0 || maxNotifications > limits.MaxNotificationsPerPublish ? limits.MaxNotificationsPerPublish : (int)maxNotifications;
        return new SubscriptionSettings(TimeSpan.FromMilliseconds(milliseconds), lifetimeCount, keepAliveCount, max, priority);
    }

    public static SubscriptionSettings Revise(CreateSubscriptionRequest wanted, UaServerLimits limits) =>
        Revise(wanted.RequestedPublishingInterval, wanted.RequestedLifetimeCount, wanted.RequestedMaxKeepAliveCount, wanted.MaxNotificationsPerPublish, wanted.Priority, limits);

    public static SubscriptionSettings Revise(ModifySubscriptionRequest wanted, UaServerLimits limits) =>
        Revise(wanted.RequestedPublishingInterval, wanted.RequestedLifetimeCount, wanted.RequestedMaxKeepAliveCount, wanted.MaxNotificationsPerPublish, wanted.Priority, limits);
}
