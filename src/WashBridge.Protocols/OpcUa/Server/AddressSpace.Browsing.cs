using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <content>Following references.</content>
public sealed partial class AddressSpace
{
    /// <summary>The names that a browse result may leave out (OPC 10000-4, 5.9.2).</summary>
    [Flags]
    private enum ResultMask
    {
        ReferenceType = 1,
        IsForward = 2,
        NodeClass = 4,
        BrowseName = 8,
        DisplayName = 16,
        TypeDefinition = 32,
    }

    /// <summary>The reference type of that id; null where there is none.</summary>
    internal UaType? FindReferenceType(NodeId id) => Find(id) is UaType { NodeClass: NodeClass.ReferenceType } type ? type : null;

    /// <summary>Adds the references that match, from <paramref name="sequence"/> on, until there are <paramref name="max"/>.</summary>
    /// <returns>The sequence number to go on at; null: that was all.</returns>
    internal int? Browse(UaNode node, BrowseDescription wanted, UaType? referenceType, int sequence, int max, List<ReferenceDescription> into)
    {
        lock (gate)
        {
            var references = node.References;
            for (var i = references.IndexOf(sequence); i < references.Count; i++)
            {
                var reference = references[i];
                if (!Matches(reference, wanted.Direction, referenceType, wanted.IncludeSubtypes)
                    || (wanted.NodeClassMask != 0 && (wanted.NodeClassMask & (uint)reference.Target.NodeClass) == 0))
                {
                    continue;
                }

                if (into.Count == max)
                {
                    return reference.Sequence;
                }

                into.Add(Describe(reference, (ResultMask)wanted.ResultMask));
            }
        }

        return null;
    }

    /// <summary>Adds the nodes that a step of a path leads to.</summary>
    /// <param name="budget">References that may still be looked at; below zero: too many.</param>
    internal void Step(UaNode node, RelativePathElement step, UaType? referenceType, ISet<UaNode> into, ref int budget)
    {
        lock (gate)
        {
            var direction = step.IsInverse ? BrowseDirection.Inverse : BrowseDirection.Forward;
            budget -= node.References.Count;
            for (var i = 0; i < node.References.Count && budget >= 0; i++)
            {
                var reference = node.References[i];
                if (reference.Target.BrowseName == step.TargetName && Matches(reference, direction, referenceType, step.IncludeSubtypes))
                {
                    into.Add(reference.Target);
                }
            }
        }
    }

    private static bool Matches(Reference reference, BrowseDirection direction, UaType? type, bool includeSubtypes) =>
        (direction == BrowseDirection.Both || reference.IsForward == (direction == BrowseDirection.Forward))
        && (type is null || reference.Type == type || (includeSubtypes && reference.Type.IsOrDerivesFrom(type)));

    private static ReferenceDescription Describe(Reference reference, ResultMask mask)
    {
        var target = reference.Target;
        return new ReferenceDescription(
            mask.HasFlag(ResultMask.ReferenceType) ? reference.Type.Id : NodeId.Null,
            mask.HasFlag(ResultMask.IsForward) && reference.IsForward,
            target.Id,
            mask.HasFlag(ResultMask.BrowseName) ? target.BrowseName : default,
            mask.HasFlag(ResultMask.DisplayName) ? target.DisplayName : default,
            mask.HasFlag(ResultMask.NodeClass) ? target.NodeClass : NodeClass.Unspecified,
            mask.HasFlag(ResultMask.TypeDefinition) ? target.TypeDefinition?.Id ?? NodeId.Null : NodeId.Null);
    }
}
