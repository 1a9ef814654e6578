using System.Runtime.CompilerServices;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>Following references (OPC 10000-4, 5.9). A continuation point is always used to its end or given back: a server has few.</summary>
public sealed partial class UaSession
{
    /// <summary>Most references of one call. A server that always has more would else fill the memory.</summary>
    public const int MaxReferences = 1_000_000;

    private static readonly ViewDescription WholeAddressSpace = new(NodeId.Null, DateTime.MinValue, 0);

    /// <summary>All references of each node (OPC 10000-4, 5.9.2 and 5.9.3), however many answers that takes. Their continuation points are empty.</summary>
    /// <exception cref="UaException">The request as a whole failed.</exception>
    public async Task<IReadOnlyList<BrowseResult>> BrowseAsync(IReadOnlyList<BrowseDescription> nodes, CancellationToken cancellation = default)
    {
        state.Limits.Browse.Told(state.Limits.ContinuationPoints.Value);
        var results = await InBatchesAsync(nodes, state.Limits.Browse, "Browse", batch => BrowseBatchAsync(batch, cancellation));

        // What shared its request with too many others is asked for alone.
        for (var i = 0; i < results.Length && nodes.Count > 1; i++)
        {
            if (results[i].Status == StatusCodes.BadNoContinuationPoints)
            {
                results[i] = (await BrowseBatchAsync([nodes[i]], cancellation))[0];
            }
        }

        return results;
    }

    /// <summary>The references of one node as they arrive. Giving up early gives the continuation point back.</summary>
    /// <exception cref="UaException">The node cannot be browsed.</exception>
    public async IAsyncEnumerable<ReferenceDescription> BrowseAsync(BrowseDescription node, [EnumeratorCancellation] CancellationToken cancellation = default)
    {
        var result = (await BrowseFirstAsync([node], cancellation))[0];
        try
        {
            while (true)
            {
                if (result.Status.IsBad)
                {
                    throw new UaException(result.Status, $"{node.NodeId} cannot be browsed");
                }

                foreach (var reference in result.References)
                {
                    yield return reference;
                }

                if (result.ContinuationPoint is not { Length: > 0 } point)
                {
                    yield break;
                }

                result = result with { ContinuationPoint = null };
                result = (await BrowseNextAsync([point], cancellation))[0];
            }
        }
        finally
        {
            await ReleaseAsync([result.ContinuationPoint]);
        }
    }

    private async Task<IReadOnlyList<BrowseResult>> BrowseBatchAsync(IReadOnlyList<BrowseDescription> nodes, CancellationToken cancellation)
    {
        var results = (await BrowseFirstAsync(nodes, cancellation)).ToArray();
        var total = results.Sum(r => r.References.Count);
        try
        {
            while (true)
            {
                var unfinished = Enumerable.Range(0, results.Length).Where(i => results[i].ContinuationPoint is { Length: > 0 }).ToArray();
                if (unfinished.Length == 0)
                {
                    return results;
                }

                var more = await BrowseNextAsync([.. unfinished.Select(i => results[i].ContinuationPoint)], cancellation);
                foreach (var (i, next) in unfinished.Zip(more))
                {
                    total += next.References.Count;
                    results[i] = next with { References = [.. results[i].References, .. next.References] };
                }

                if (total > MaxReferences)
                {
                    throw new UaException(StatusCodes.BadResponseTooLarge, $"{options.Endpoint} tells of more than {MaxReferences:N0} references of {nodes.Count} nodes");
                }
            }
        }
        catch
        {
            await ReleaseAsync([.. results.Select(r => r.ContinuationPoint)]);
            throw;
        }
    }

    private async Task<IReadOnlyList<BrowseResult>> BrowseFirstAsync(IReadOnlyList<BrowseDescription> nodes, CancellationToken cancellation)
    {
        var request = new BrowseRequest(WholeAddressSpace, (uint)options.MaxReferencesPerNode, nodes);
        var results = (await RequestAsync<BrowseRequest, BrowseResponse>(request, options.RequestTimeout, cancellation)).Body.Results;
        CheckCount(results.Count, nodes.Count, "Browse");
        return results;
    }

    private async Task<IReadOnlyList<BrowseResult>> BrowseNextAsync(IReadOnlyList<byte[]?> points, CancellationToken cancellation)
    {
        var request = new BrowseNextRequest(Release: false, points);
        var results = (await RequestAsync<BrowseNextRequest, BrowseNextResponse>(request, options.RequestTimeout, cancellation)).Body.Results;
        CheckCount(results.Count, points.Count, "BrowseNext");
        return results;
    }

    private async Task ReleaseAsync(IReadOnlyList<byte[]?> points)
    {
        byte[]?[] open = [.. points.Where(p => p is { Length: > 0 })];
        if (open.Length == 0 || IsLost)
        {
            return;
        }

        try
        {
            // Not cancelled with what gave up: the server should know.
            await RequestAsync<BrowseNextRequest, BrowseNextResponse>(new BrowseNextRequest(Release: true, open), options.RequestTimeout, CancellationToken.None);
        }
        catch (UaException)
        {
            // They end with the session at the latest.
        }
    }
}
