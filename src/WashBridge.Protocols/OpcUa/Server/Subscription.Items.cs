using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <content>The monitored items.</content>
internal sealed partial class Subscription
{
    private readonly Dictionary<uint, MonitoredItem> itemsById = [];
    private readonly List<MonitoredItem> items = [];
    private readonly List<MonitoredItemNotification> collected = [];
    private int polledCount;
    private int nextItem;

    public int ItemCount => items.Count;

    public IReadOnlyList<MonitoredItem> Items => items;

    /// <summary>The queue sizes of all items together.</summary>
    public long QueuedValuesGranted { get; set; }

    public MonitoredItem? FindItem(uint itemId) => itemsById.GetValueOrDefault(itemId);

    public void AddItem(MonitoredItem item)
    {
        itemsById.Add(item.Id, item);
        items.Add(item);
        polledCount += item.IsPolled ? 1 : 0;
        QueuedValuesGranted += item.Settings.QueueSize;
    }

    public void RemoveItem(MonitoredItem item)
    {
        itemsById.Remove(item.Id);
        items.Remove(item);
        polledCount -= item.IsPolled ? 1 : 0;
        QueuedValuesGranted -= item.Settings.QueueSize;
    }

    public required AddressSpace Space { get; init; }

    private void Poll()
    {
        if (polledCount == 0)
        {
            return;
        }

        foreach (var item in items)
        {
            if (item.IsPolled)
            {
                item.Poll(Space);
            }
        }
    }

    private bool IsReady(long now)
    {
        foreach (var item in items)
        {
            if (item.IsReady(now))
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>Takes turns: where a message cannot hold everything, the next one goes on with the item that was next.</summary>
    private MonitoredItemNotification[] Collect(long now, out bool hasMore)
    {
        var start = nextItem < items.Count ? nextItem : 0;
        hasMore = false;
        for (var i = 0; i < items.Count; i++)
        {
            var index = (start + i) % items.Count;
            if (!items[index].Drain(collected, Settings.MaxNotifications, now))
            {
                (nextItem, hasMore) = (index, true);
                break;
            }
        }

        var taken = collected.ToArray();
        collected.Clear();
        return taken;
    }
}
