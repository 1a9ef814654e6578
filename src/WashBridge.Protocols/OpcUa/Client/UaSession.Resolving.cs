using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>From names to node ids.</summary>
public sealed partial class UaSession
{
    /// <summary>Follows paths of browse names (OPC 10000-4, 5.9.4).</summary>
    /// <exception cref="UaException">The request as a whole failed.</exception>
    public async Task<IReadOnlyList<BrowsePathResult>> TranslateAsync(IReadOnlyList<BrowsePath> paths, CancellationToken cancellation = default) =>
        await InBatchesAsync(paths, state.Limits.Translate, "TranslateBrowsePathsToNodeIds", async batch =>
        {
            var request = new TranslateBrowsePathsRequest(batch);
            return (await RequestAsync<TranslateBrowsePathsRequest, TranslateBrowsePathsResponse>(request, options.RequestTimeout, cancellation)).Body.Results;
        });

    /// <summary>The ids that addresses stand for. Bad: the namespace is unknown (BadNodeIdUnknown), or the path leads nowhere (BadNoMatch) or to several nodes (BadTooManyMatches).</summary>
    /// <exception cref="UaException">The request as a whole failed.</exception>
    public async Task<IReadOnlyList<ResolvedNode>> ResolveAsync(IReadOnlyList<NodeAddress> addresses, CancellationToken cancellation = default)
    {
        var resolved = new ResolvedNode[addresses.Count];
        List<(int Index, BrowsePath Path)> paths = [];
        for (var i = 0; i < resolved.Length; i++)
        {
            var address = addresses[i];
            if (address.Path is { } steps)
            {
                if (ToBrowsePath(steps) is { } path)
                {
                    paths.Add((i, path));
                }
                else
                {
                    resolved[i] = new ResolvedNode(StatusCodes.BadNoMatch, NodeId.Null);
                }
            }
            else
            {
                var isKnown = Namespaces.TryResolve(new ExpandedNodeId(address.Node, address.NamespaceUri), out var node);
                resolved[i] = isKnown ? new ResolvedNode(StatusCodes.Good, node) : new ResolvedNode(StatusCodes.BadNodeIdUnknown, NodeId.Null);
            }
        }

        var found = await TranslateAsync([.. paths.Select(p => p.Path)], cancellation);
        foreach (var ((index, _), result) in paths.Zip(found))
        {
            resolved[index] = OnlyTarget(result);
        }

        return resolved;
    }

    /// <summary>Null: a namespace is unknown.</summary>
    private BrowsePath? ToBrowsePath(IReadOnlyList<NodeAddress.PathStep> steps)
    {
        var elements = new RelativePathElement[steps.Count];
        for (var i = 0; i < elements.Length; i++)
        {
            var step = steps[i];
            var index = step.NamespaceUri is { } uri ? Namespaces.IndexOf(uri) : step.NamespaceIndex;
            if (index is < 0 or > ushort.MaxValue)
            {
                return null;
            }

            var reference = step.IsAggregate ? StandardNodes.Aggregates : StandardNodes.HierarchicalReferences;
            elements[i] = new RelativePathElement(reference, IsInverse: false, IncludeSubtypes: true, new QualifiedName((ushort)index, step.Name));
        }

        return new BrowsePath(StandardNodes.RootFolder, elements);
    }

    private ResolvedNode OnlyTarget(BrowsePathResult result)
    {
        if (result.Status.IsBad)
        {
            return new ResolvedNode(result.Status, NodeId.Null);
        }

        HashSet<NodeId> targets = [];
        foreach (var target in result.Targets)
        {
            if (target.RemainingPathIndex == uint.MaxValue && Namespaces.TryResolve(target.TargetId, out var node))
            {
                targets.Add(node);
            }
        }

        return targets.Count switch
        {
            0 => new ResolvedNode(StatusCodes.BadNoMatch, NodeId.Null),
            1 => new ResolvedNode(StatusCodes.Good, targets.First()),
            _ => new ResolvedNode(StatusCodes.BadTooManyMatches, NodeId.Null),
        };
    }
}

/// <summary>What an address stands for.</summary>
/// <param name="Node">The null id if the status is bad.</param>
public readonly record struct ResolvedNode(StatusCode Status, NodeId Node);
