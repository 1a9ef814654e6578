using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Browsing;

/// <summary>A variable that a walk came to.</summary>
/// <param name="Node">Its id.</param>
/// <param name="Path">Display names from where the walk began down to its own.</param>
internal sealed record FoundVariable(NodeId Node, IReadOnlyList<string> Path)
{
    public override string ToString() => string.Join(" / ", Path);
}

/// <summary>What a walk came to.</summary>
/// <param name="Variables">In the order of their paths' levels, each once.</param>
/// <param name="Visited">How many nodes were seen.</param>
/// <param name="IsComplete">False: the limit ended the walk.</param>
/// <param name="Refused">Nodes whose references the server did not tell.</param>
/// <param name="Start">Bad: the walk could not even begin.</param>
internal sealed record Walk(IReadOnlyList<FoundVariable> Variables, int Visited, bool IsComplete, int Refused, StatusCode Start);

/// <summary>Walks through an address space, level by level, over hierarchical references. Properties and the nodes of the standard itself are left out.</summary>
/// <param name="limit">Nodes to visit at most.</param>
/// <param name="progress">Told the number of nodes seen, after each request.</param>
internal sealed class AddressWalk(UaSession session, int limit, Action<int> progress)
{
    private const int MaxDepth = 40;
    private const int NodesAtOnce = 100;
    private static readonly NodeId HierarchicalReferences = new(33);
    private static readonly NodeId HasProperty = new(46);

    private readonly HashSet<NodeId> seen = [];
    private readonly List<FoundVariable> variables = [];
    private bool isComplete = true;
    private int refused;
    private StatusCode startStatus;

    public static NodeId ObjectsFolder { get; } = new(85);

    /// <exception cref="UaException">A request as a whole failed.</exception>
    public async Task<Walk> WalkAsync(NodeId start, CancellationToken cancellation)
    {
        seen.Add(start);
        List<FoundVariable> level = [new FoundVariable(start, [])];
        for (var depth = 0; depth < MaxDepth && level.Count > 0 && isComplete; depth++)
        {
            var next = new List<FoundVariable>();
            foreach (var parents in level.Chunk(NodesAtOnce))
            {
                var results = await session.BrowseAsync([.. parents.Select(p => new BrowseDescription(p.Node, BrowseDirection.Forward, HierarchicalReferences, true, (uint)(NodeClass.Object | NodeClass.Variable), 63))], cancellation);
                foreach (var (parent, result) in parents.Zip(results))
                {
                    refused += result.Status.IsBad ? 1 : 0;
                    startStatus = depth == 0 ? result.Status : startStatus;
                    Take(parent, result, start, next);
                }

                progress(seen.Count);
            }

            level = next;
        }

        isComplete &= level.Count == 0;
        return new Walk(variables, seen.Count, isComplete, refused, startStatus);
    }

    private void Take(FoundVariable parent, BrowseResult result, NodeId start, List<FoundVariable> next)
    {
        foreach (var reference in result.References.Where(r => r.ReferenceTypeId != HasProperty))
        {
            // The server's own nodes are the same everywhere; whoever wants them begins below them.
            if (!session.Namespaces.TryResolve(reference.NodeId, out var node) || (node.Namespace == 0 && start == ObjectsFolder) || seen.Contains(node))
            {
                continue;
            }

            if (seen.Count >= limit)
            {
                isComplete = false;
                return;
            }

            seen.Add(node);
            var found = new FoundVariable(node, [.. parent.Path, reference.DisplayName.Text is { Length: > 0 } name ? name : reference.BrowseName.Name ?? node.ToString()]);
            next.Add(found);
            if (reference.NodeClass == NodeClass.Variable)
            {
                variables.Add(found);
            }
        }
    }
}
