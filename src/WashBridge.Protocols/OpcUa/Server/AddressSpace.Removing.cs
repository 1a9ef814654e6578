namespace WashBridge.Protocols.OpcUa.Server;

/// <content>Taking nodes away.</content>
public sealed partial class AddressSpace
{
    /// <summary>
    /// Removes a node with all nodes below it. Items that monitor them report BadNodeIdUnknown, and go on when a node with the same id is
    /// added.
    /// </summary>
    /// <returns>False: it was not there.</returns>
    /// <exception cref="ArgumentException">A node of namespace 0.</exception>
    public bool Remove(UaNode node)
    {
        ArgumentNullException.ThrowIfNull(node);
        if (node.Id.Namespace == 0)
        {
            throw new ArgumentException($"{node.Id} belongs to the standard and stays", nameof(node));
        }

        lock (gate)
        {
            if (Find(node.Id) != node)
            {
                return false;
            }

            RemoveTree(node);
            return true;
        }
    }

    /// <summary>Removes nodes of namespace 0 as well: those of a server that ends.</summary>
    internal void RemoveStandard(UaNode node)
    {
        lock (gate)
        {
            RemoveTree(node);
        }
    }

    private void RemoveTree(UaNode node)
    {
        var children = new List<UaNode>();
        for (var i = 0; i < node.References.Count; i++)
        {
            var reference = node.References[i];
            if (reference.IsForward && reference.Type.IsOrDerivesFrom(hierarchical))
            {
                children.Add(reference.Target);
            }

            if (reference.Target != node)
            {
                reference.Target.References.RemoveTo(node);
            }
        }

        nodes.TryRemove(node.Id, out _);
        Orphan(node);
        foreach (var child in children)
        {
            RemoveTree(child);
        }
    }
}
