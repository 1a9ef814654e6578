using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>The services Browse, BrowseNext and TranslateBrowsePathsToNodeIds (OPC 10000-4, 5.9.2 to 5.9.4).</summary>
internal sealed class Browser(AddressSpace space, UaServerLimits limits)
{
    /// <summary>References that the paths of one call may look at, together.</summary>
    private const int TranslateBudget = 1_000_000;

    /// <summary>Nodes that a path may lead to at any of its steps.</summary>
    private const int MaxTargets = 1_000;

    private const uint EndOfPath = uint.MaxValue;

    public BrowseResponse Browse(Session session, BrowseRequest request)
    {
        Operations.Check(request.Nodes.Count, limits.MaxNodesPerBrowse);
        if (!request.View.ViewId.IsNull)
        {
            throw new UaException(StatusCodes.BadViewIdUnknown, $"view {request.View.ViewId}; there are none");
        }

        var call = session.Browses.BeginRequest();
        var max = request.MaxReferencesPerNode is 0 or > int.MaxValue ? limits.MaxReferencesPerNode : Math.Min((int)request.MaxReferencesPerNode, limits.MaxReferencesPerNode);
        return new BrowseResponse(Operations.Each(request.Nodes, wanted => Begin(session, call, wanted, max)));
    }

    public BrowseNextResponse BrowseNext(Session session, BrowseNextRequest request)
    {
        Operations.Check(request.ContinuationPoints.Count, limits.MaxNodesPerBrowse);
        var call = session.Browses.BeginRequest();
        return new BrowseNextResponse(Operations.Each(request.ContinuationPoints, bytes =>
            session.Browses.Take(bytes) is not { } point ? Bad(StatusCodes.BadContinuationPointInvalid)
            : request.Release ? new BrowseResult(StatusCodes.Good, null, [])
            : Continue(session, call, point)));
    }

    public TranslateBrowsePathsResponse Translate(TranslateBrowsePathsRequest request)
    {
        Operations.Check(request.Paths.Count, limits.MaxNodesPerTranslate);
        var budget = TranslateBudget;
        return new TranslateBrowsePathsResponse(Operations.Each(request.Paths, path => Translate(path, ref budget)));
    }

    private static BrowseResult Bad(StatusCode status) => new(status, null, []);

    private BrowseResult Begin(Session session, uint call, BrowseDescription wanted, int max)
    {
        if (!space.TryFind(wanted.NodeId, out var node))
        {
            return Bad(StatusCodes.BadNodeIdUnknown);
        }

        if (!Enum.IsDefined(wanted.Direction))
        {
            return Bad(StatusCodes.BadBrowseDirectionInvalid);
        }

        var type = space.FindReferenceType(wanted.ReferenceTypeId);
        return type is null && !wanted.ReferenceTypeId.IsNull
            ? Bad(StatusCodes.BadReferenceTypeIdInvalid)
            : Continue(session, call, new BrowseContinuation(node, wanted, type, Sequence: 0, max));
    }

    private BrowseResult Continue(Session session, uint call, BrowseContinuation point)
    {
        // A node that is removed between the calls has lost its references, and perhaps another one has its id now.
        if (space.Find(point.Node.Id) != point.Node)
        {
            return Bad(StatusCodes.BadContinuationPointInvalid);
        }

        List<ReferenceDescription> references = [];
        if (space.Browse(point.Node, point.Wanted, point.ReferenceType, point.Sequence, point.Max, references) is not { } next)
        {
            return new BrowseResult(StatusCodes.Good, null, references);
        }

        return session.Browses.TryAdd(call, point with { Sequence = next }) is { } bytes
            ? new BrowseResult(StatusCodes.Good, bytes, references)
            : Bad(StatusCodes.BadNoContinuationPoints);
    }

    private BrowsePathResult Translate(BrowsePath path, ref int budget)
    {
        if (!space.TryFind(path.StartingNode, out var start))
        {
            return new BrowsePathResult(StatusCodes.BadNodeIdUnknown, []);
        }

        if (path.Elements.Count == 0)
        {
            return new BrowsePathResult(StatusCodes.BadNothingToDo, []);
        }

        if (path.Elements.Count > limits.MaxPathElements)
        {
            return new BrowsePathResult(StatusCodes.BadTooManyOperations, []);
        }

        HashSet<UaNode> reached = [start];
        foreach (var step in path.Elements)
        {
            if (string.IsNullOrEmpty(step.TargetName.Name))
            {
                return new BrowsePathResult(StatusCodes.BadBrowseNameInvalid, []);
            }

            var type = space.FindReferenceType(step.ReferenceTypeId);
            if (type is null && !step.ReferenceTypeId.IsNull)
            {
                return new BrowsePathResult(StatusCodes.BadNoMatch, []);
            }

            HashSet<UaNode> next = [];
            foreach (var node in reached)
            {
                space.Step(node, step, type, next, ref budget);
            }

            if (budget < 0 || next.Count > MaxTargets)
            {
                return new BrowsePathResult(budget < 0 ? StatusCodes.BadQueryTooComplex : StatusCodes.BadTooManyMatches, []);
            }

            reached = next;
        }

        return reached.Count == 0
            ? new BrowsePathResult(StatusCodes.BadNoMatch, [])
            : new BrowsePathResult(StatusCodes.Good, [.. reached.Select(static node => new BrowsePathTarget(node.Id, EndOfPath))]);
    }
}
