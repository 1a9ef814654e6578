using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>Items one by one: what is refused, unknown or has vanished is told and tried again, and never stops the rest.</summary>
public sealed partial class UaSubscription
{
    private readonly List<MonitoredItem> items;
    private readonly Dictionary<uint, MonitoredItem> byHandle;

    /// <summary>Items that the server watches but whose nodes it does not have any more.</summary>
    private int vanished;

    private async Task CreateItemsAsync(List<MonitoredItem> wanted)
    {
        var resolved = await Session().ResolveAsync([.. wanted.Select(i => i.Spec.Node)], ending.Token);
        foreach (var (item, node) in wanted.Zip(resolved))
        {
            item.Node = node.Node;
            item.Refuse(node.Status.IsBad ? node.Status : StatusCodes.BadWaitingForInitialData);
        }

        var known = wanted.FindAll(static i => i.Status == StatusCodes.BadWaitingForInitialData);
        if (known.Count > 0)
        {
            var results = await Session().CreateMonitoredItemsAsync(id, [.. known.Select(static i => i.ToRequest())], ending.Token);
            foreach (var (item, result) in known.Zip(results))
            {
                item.Take(result);
            }
        }

        vanished = items.Count(static i => i.ServerId != 0 && i.Status.IsBad);
    }

    /// <summary>Tells the listener what is new about items.</summary>
    private void ReportItems()
    {
        foreach (var item in items)
        {
            var state = item.State;
            if (item.Told == state)
            {
                continue;
            }

            if (state.Status.IsBad && item.Told?.Status != state.Status)
            {
                ClientLog.ItemRefused(logger, item.Spec.ClientHandle, item.Spec.Node, spec.Name, options.Endpoint, state.Status, options.ItemRetryInterval);
            }
            else if (item.Told is { Status.IsBad: true } && !state.Status.IsBad)
            {
                ClientLog.ItemBack(logger, item.Spec.ClientHandle, item.Spec.Node, spec.Name, options.Endpoint);
            }

            item.Told = state;
            Tell(static (listener, s) => listener.OnItemChanged(s), state);
        }
    }

    private void NoteVanished(IReadOnlyList<MonitoredItemNotification> values)
    {
        foreach (var value in Elements(values))
        {
            if (byHandle.TryGetValue(value.ClientHandle, out var item) && item.ServerId != 0)
            {
                var isUnknown = value.Value.Status.Code == StatusCodes.BadNodeIdUnknown;
                if (isUnknown != item.Status.IsBad)
                {
                    item.Status = isUnknown ? StatusCodes.BadNodeIdUnknown : StatusCodes.Good;
                }
            }
        }

        vanished = items.Count(static i => i.ServerId != 0 && i.Status.IsBad);
        ReportItems();
        if (vanished > 0 && retryAt == long.MaxValue)
        {
            ScheduleRetry(options.ItemRetryInterval);
        }
    }

    /// <summary>The node may be back under another number, so its address is resolved anew and the item made anew.</summary>
    private async Task RetryItemsAsync()
    {
        var missing = items.FindAll(static i => !i.IsWatched);
        if (missing.Count == 0)
        {
            return;
        }

        await Session().LoadNamespacesAsync(ending.Token);
        if (!SameNamespaces(Session().Namespaces))
        {
            ClientLog.NamespacesChanged(logger, options.Endpoint);
            await RecreateAsync("the server's namespaces have changed");
            return;
        }

        uint[] stale = [.. missing.Where(static i => i.ServerId != 0).Select(static i => i.ServerId)];
        if (stale.Length > 0)
        {
            await Session().DeleteMonitoredItemsAsync(id, stale, ending.Token);
        }

        await CreateItemsAsync(missing);
        ReportItems();
    }
}
