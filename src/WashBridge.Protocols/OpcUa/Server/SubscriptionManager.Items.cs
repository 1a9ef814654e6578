using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <content>The services for monitored items (OPC 10000-4, 5.13).</content>
internal sealed partial class SubscriptionManager
{
    private uint lastItemId;

    public CreateMonitoredItemsResponse CreateItems(Session session, CreateMonitoredItemsRequest request)
    {
        Operations.Check(request.Items.Count, limits.MaxMonitoredItemsPerCall);
        CheckTimestamps(request.Timestamps);
        lock (gate)
        {
            var subscription = Of(session, request.SubscriptionId);
            return new CreateMonitoredItemsResponse(Operations.Each(request.Items, wanted =>
            {
                try
                {
                    return Create(subscription, wanted, request.Timestamps);
                }
                catch (UaException e)
                {
                    return new MonitoredItemCreateResult(e.Status, 0, 0, 0, default);
                }
            }));
        }
    }

    public ModifyMonitoredItemsResponse ModifyItems(Session session, ModifyMonitoredItemsRequest request)
    {
        Operations.Check(request.Items.Count, limits.MaxMonitoredItemsPerCall);
        CheckTimestamps(request.Timestamps);
        lock (gate)
        {
            var subscription = Of(session, request.SubscriptionId);
            return new ModifyMonitoredItemsResponse(Operations.Each(request.Items, wanted =>
            {
                try
                {
                    return Modify(subscription, wanted, request.Timestamps);
                }
                catch (UaException e)
                {
                    return new MonitoredItemModifyResult(e.Status, 0, 0, default);
                }
            }));
        }
    }

    public SetMonitoringModeResponse SetMonitoringMode(Session session, SetMonitoringModeRequest request)
    {
        Operations.Check(request.MonitoredItemIds.Count, limits.MaxMonitoredItemsPerCall);
        if (!Enum.IsDefined(request.Mode))
        {
            throw new UaException(StatusCodes.BadMonitoringModeInvalid, $"monitoring mode {request.Mode}; allowed: 0 to 2");
        }

        lock (gate)
        {
            var subscription = Of(session, request.SubscriptionId);
            return new SetMonitoringModeResponse(Operations.Each(request.MonitoredItemIds, id =>
            {
                if (subscription.FindItem(id) is not { } item)
                {
                    return StatusCodes.BadMonitoredItemIdInvalid;
                }

                SetMode(item, request.Mode);
                return StatusCodes.Good;
            }));
        }
    }

    public DeleteMonitoredItemsResponse DeleteItems(Session session, DeleteMonitoredItemsRequest request)
    {
        Operations.Check(request.MonitoredItemIds.Count, limits.MaxMonitoredItemsPerCall);
        lock (gate)
        {
            var subscription = Of(session, request.SubscriptionId);
            return new DeleteMonitoredItemsResponse(Operations.Each(request.MonitoredItemIds, id =>
            {
                if (subscription.FindItem(id) is not { } item)
                {
                    return StatusCodes.BadMonitoredItemIdInvalid;
                }

                subscription.RemoveItem(item);
                Forget(item);
                return StatusCodes.Good;
            }));
        }
    }

    private static void CheckTimestamps(TimestampsToReturn wanted)
    {
        if (!Timestamps.IsValid(wanted))
        {
            throw new UaException(StatusCodes.BadTimestampsToReturnInvalid, $"timestamps {wanted}; allowed: 0 to 3");
        }
    }

    private MonitoredItemCreateResult Create(Subscription subscription, MonitoredItemCreateRequest wanted, TimestampsToReturn timestamps)
    {
        var node = CheckTarget(wanted, out var range);
        if (subscription.ItemCount >= limits.MaxMonitoredItemsPerSubscription || itemCount >= limits.MaxMonitoredItems)
        {
            throw new UaException(StatusCodes.BadTooManyMonitoredItems, $"{subscription.ItemCount} in this subscription and {itemCount} in all");
        }

        var isPolled = wanted.Item.AttributeId != AttributeIds.Value || node is not UaVariable { IsLive: false };
        var item = new MonitoredItem(NextItemId(subscription), wanted.Item, range, isPolled, time);
        var settings = Revise(subscription, wanted.Parameters, node, wanted.Item.AttributeId, timestamps, granted: 0) with { Mode = wanted.Mode };
        item.Apply(settings);
        subscription.AddItem(item);
        itemCount++;
        Watch(item);
        return new MonitoredItemCreateResult(StatusCodes.Good, item.Id, settings.SamplingInterval, (uint)settings.QueueSize, default);
    }

    private UaNode CheckTarget(MonitoredItemCreateRequest wanted, out IndexRange? range)
    {
        var target = wanted.Item;
        if (!Enum.IsDefined(wanted.Mode))
        {
            throw new UaException(StatusCodes.BadMonitoringModeInvalid, $"monitoring mode {wanted.Mode}; allowed: 0 to 2");
        }

        if (!IndexRange.TryParse(target.IndexRange, out range))
        {
            throw new UaException(StatusCodes.BadIndexRangeInvalid, $"index range \"{target.IndexRange}\"");
        }

        if (!space.TryFind(target.NodeId, out var node))
        {
            throw new UaException(StatusCodes.BadNodeIdUnknown, $"no node {target.NodeId}");
        }

        if (!AttributeReader.Has(node, target.AttributeId))
        {
            throw new UaException(StatusCodes.BadAttributeIdInvalid, $"{target.NodeId} has no attribute {target.AttributeId}");
        }

        if (target.DataEncoding.Name is not null && AttributeReader.CheckEncoding(target, AttributeReader.Read(space, target with { DataEncoding = default }, null)) is { IsBad: true } status)
        {
            throw new UaException(status, $"data encoding {target.DataEncoding}");
        }

        return node;
    }

    private MonitoredItemModifyResult Modify(Subscription subscription, MonitoredItemModifyRequest wanted, TimestampsToReturn timestamps)
    {
        if (subscription.FindItem(wanted.MonitoredItemId) is not { } item)
        {
            throw new UaException(StatusCodes.BadMonitoredItemIdInvalid, $"no item {wanted.MonitoredItemId}");
        }

        if (!space.TryFind(item.Target.NodeId, out var node))
        {
            throw new UaException(StatusCodes.BadNodeIdUnknown, $"no node {item.Target.NodeId}");
        }

        var before = item.Settings;
        var settings = Revise(subscription, wanted.Parameters, node, item.Target.AttributeId, timestamps, before.QueueSize) with { Mode = before.Mode };
        item.Apply(settings);
        subscription.QueuedValuesGranted += settings.QueueSize - before.QueueSize;
        return new MonitoredItemModifyResult(StatusCodes.Good, settings.SamplingInterval, (uint)settings.QueueSize, default);
    }

    /// <param name="granted">The queue size that the item has already.</param>
    private ItemSettings Revise(Subscription subscription, MonitoringParameters wanted, UaNode node, uint attributeId, TimestampsToReturn timestamps, int granted)
    {
        // A negative interval asks for the publishing interval (OPC 10000-4, 5.13.1.2); not-a-number is taken for zero.
        var asked = wanted.SamplingInterval < 0 ? subscription.Settings.PublishingInterval.TotalMilliseconds : wanted.SamplingInterval;
        var least = limits.MinSamplingInterval.TotalMilliseconds;
        var interval = asked > least ? Math.Min(asked, TimeSpan.FromDays(1).TotalMilliseconds) : least;
        var left = limits.MaxQueuedValuesPerSubscription - subscription.QueuedValuesGranted + granted;
        return new ItemSettings
        {
            ClientHandle = wanted.ClientHandle,
            Timestamps = timestamps,
            SamplingInterval = interval,
            SamplingTicks = (long)(interval / 1000 * time.TimestampFrequency),
            QueueSize = (int)Math.Clamp(Math.Min(wanted.QueueSize, left), 1, limits.MaxQueueSize),
            DiscardOldest = wanted.DiscardOldest,
            Filter = ChangeFilter.Parse(wanted.Filter, node, attributeId),
        };
    }

    private void SetMode(MonitoredItem item, MonitoringMode mode)
    {
        var before = item.Settings;
        item.Apply(before with { Mode = mode });

        // From disabled on, an item begins anew: with the present value (OPC 10000-4, 5.13.1.3).
        if (before.Mode == MonitoringMode.Disabled && mode != MonitoringMode.Disabled)
        {
            Watch(item);
        }
        else if (mode == MonitoringMode.Disabled)
        {
            space.Unwatch(item.Target.NodeId, item);
        }
    }

    private void Watch(MonitoredItem item)
    {
        if (item.Mode == MonitoringMode.Disabled)
        {
            return;
        }

        if (item.IsPolled)
        {
            item.Poll(space);
        }
        else
        {
            space.Watch(item.Target.NodeId, item);
        }
    }

    private void Forget(MonitoredItem item)
    {
        itemCount--;
        if (!item.IsPolled)
        {
            space.Unwatch(item.Target.NodeId, item);
        }
    }

    private uint NextItemId(Subscription subscription)
    {
        do
        {
            lastItemId++;
        }
        while (lastItemId == 0 || subscription.FindItem(lastItemId) is not null);
        return lastItemId;
    }
}
