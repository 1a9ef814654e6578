namespace WashBridge.Protocols.OpcUa.Server;

/// <content>Watching nodes, and what becomes of watchers whose node is removed.</content>
public sealed partial class AddressSpace
{
    private readonly Dictionary<NodeId, List<INodeWatcher>> orphans = [];

    /// <summary>Watches a variable's value. False: no such variable.</summary>
    internal bool TryWatch(NodeId id, INodeWatcher watcher)
    {
        lock (gate)
        {
            if (Find(id) is not UaVariable variable)
            {
                return false;
            }

            variable.Watch(watcher);
            return true;
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
        if (node is not UaVariable variable)
        {
            return;
        }

        var now = time.GetUtcNow().UtcDateTime;
        var gone = new DataValue(default, StatusCodes.BadNodeIdUnknown, null, now);
        foreach (var watcher in variable.TakeWatchers().OfType<INodeWatcher>())
        {
            watcher.Offer(gone, time.GetTimestamp());
            if (!orphans.TryGetValue(node.Id, out var list))
            {
                orphans[node.Id] = list = [];
            }

            list.Add(watcher);
        }
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
