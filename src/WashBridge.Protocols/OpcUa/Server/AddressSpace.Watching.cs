namespace WashBridge.Protocols.OpcUa.Server;

/// <content>Watching nodes, and what becomes of watchers whose node is removed.</content>
public sealed partial class AddressSpace
{
    private readonly Dictionary<NodeId, List<INodeWatcher>> orphans = [];

    /// <summary>Watches a variable's value. Where the node is gone, the watcher waits for it to come back.</summary>
    internal void Watch(NodeId id, INodeWatcher watcher)
    {
        lock (gate)
        {
            if (Find(id) is UaVariable variable)
            {
                variable.Watch(watcher);
            }
            else
            {
                AddOrphan(id, watcher);
            }
        }
    }

    internal void Unwatch(NodeId id, INodeWatcher watcher)
    {
        lock (gate)
        {
            (Find(id) as UaVariable)?.Unwatch(watcher);
            if (orphans.TryGetValue(id, out var list) && list.Remove(watcher) && list.Count == 0)
            {
                orphans.Remove(id);
            }
        }
    }

    private void Orphan(UaNode node)
    {
        foreach (var watcher in (node as UaVariable)?.TakeWatchers() ?? [])
        {
            AddOrphan(node.Id, watcher);
        }
    }

    private void AddOrphan(NodeId id, INodeWatcher watcher)
    {
        watcher.Offer(new DataValue(default, StatusCodes.BadNodeIdUnknown, null, time.GetUtcNow().UtcDateTime), time.GetTimestamp());
        if (!orphans.TryGetValue(id, out var list))
        {
            orphans[id] = list = [];
        }

        list.Add(watcher);
    }

    /// <summary>A node is back under an id that items still want.</summary>
    private void Revive(UaNode node)
    {
        if (node is UaVariable variable && orphans.Remove(node.Id, out var list))
        {
            foreach (var watcher in list)
            {
                variable.Watch(watcher);
            }
        }
    }
}
