using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

public sealed partial class UaSession
{
    private static readonly ReadValueId[] StatusOnly = [ValueOf(StandardNodes.ServerStatus)];
    private static readonly ReadValueId[] NamespacesOnly = [ValueOf(StandardNodes.NamespaceArray)];
    private static readonly ReadValueId[] Basics =
    [
        ValueOf(StandardNodes.NamespaceArray),
        ValueOf(StandardNodes.ServerStatus),
        ValueOf(StandardNodes.MaxNodesPerRead),
        ValueOf(StandardNodes.MaxNodesPerBrowse),
        ValueOf(StandardNodes.MaxNodesPerTranslateBrowsePaths),
        ValueOf(StandardNodes.MaxMonitoredItemsPerCall),
        ValueOf(StandardNodes.MaxBrowseContinuationPoints),
    ];

    /// <summary>Reads attributes (OPC 10000-4, 5.11.2).</summary>
    /// <param name="maxAge">How old a value may be that the server has in store; zero: it asks the device anew.</param>
    /// <exception cref="UaException">The request as a whole failed.</exception>
    public async Task<ReadResult> ReadAsync(
        IReadOnlyList<ReadValueId> nodes,
        TimeSpan maxAge = default,
        TimestampsToReturn timestamps = TimestampsToReturn.Both,
        CancellationToken cancellation = default)
    {
        if (nodes.Count == 0)
        {
            var now = time.GetTimestamp();
            return new ReadResult([], time.GetUtcNow().UtcDateTime, now, now);
        }

        if (nodes.Count <= state.Limits.Read.Value)
        {
            try
            {
                var answer = await ReadOnceAsync(nodes, maxAge, timestamps, cancellation);
                return new ReadResult(answer.Body.Results, answer.ServerTime, answer.Sent, answer.Received);
            }
            catch (UaServiceException e) when (nodes.Count > 1 && BatchLimit.MayHelp(e.Status))
            {
                state.Limits.Read.TooLarge(nodes.Count);
                ClientLog.FewerOperations(logger, options.Endpoint, "Read", nodes.Count, e.Status);
            }
        }

        ServiceResponse<ReadResponse>? first = null;
        ServiceResponse<ReadResponse> last = default;
        var values = await InBatchesAsync(nodes, state.Limits.Read, "Read", async batch =>
        {
            last = await ReadOnceAsync(batch, maxAge, timestamps, cancellation);
            first ??= last;
            return last.Body.Results;
        });
        return new ReadResult(values, last.ServerTime, first!.Value.Sent, last.Received);
    }

    /// <summary>Reads the values of variables.</summary>
    /// <exception cref="UaException">The request as a whole failed.</exception>
    public Task<ReadResult> ReadValuesAsync(IReadOnlyList<NodeId> nodes, TimeSpan maxAge = default, CancellationToken cancellation = default)
    {
        var ids = new ReadValueId[nodes.Count];
        for (var i = 0; i < ids.Length; i++)
        {
            ids[i] = ValueOf(nodes[i]);
        }

        return ReadAsync(ids, maxAge, cancellation: cancellation);
    }

    /// <summary>Smoothed; zero until it was measured.</summary>
    internal TimeSpan RoundTrip { get; private set; }

    /// <summary>Shows that the server lives, and what its clock shows.</summary>
    /// <returns>False if the clock contradicts what was known of it.</returns>
    internal async Task<bool> ReadStatusAsync(CancellationToken cancellation)
    {
        var result = await ReadAsync(StatusOnly, cancellation: cancellation);
        var took = time.GetElapsedTime(result.Sent, result.Received);
        RoundTrip = RoundTrip == default ? took : RoundTrip + ((took - RoundTrip) / 8);
        return TakeStatus(result.Values[0], result);
    }

    /// <summary>What has to be known before the session is used: namespaces, limits, status.</summary>
    internal async Task LoadAsync(CancellationToken cancellation)
    {
        var result = await ReadAsync(Basics, cancellation: cancellation);
        TakeNamespaces(result.Values[0]);
        TakeStatus(result.Values[1], result);
        var limits = state.Limits;
        foreach (var (limit, value) in new[] { limits.Read, limits.Browse, limits.Translate, limits.MonitoredItems, limits.ContinuationPoints }.Zip(result.Values.Skip(2)))
        {
            if (value.Status.IsGood && value.Value.TryGetNumber(out var told))
            {
                limit.Told(told);
            }
        }
    }

    /// <summary>Reads the namespaces anew.</summary>
    internal async Task LoadNamespacesAsync(CancellationToken cancellation) =>
        TakeNamespaces((await ReadAsync(NamespacesOnly, cancellation: cancellation)).Values[0]);

    private static ReadValueId ValueOf(NodeId node) => new(node, AttributeIds.Value, null, default);

    private void TakeNamespaces(DataValue value)
    {
        if (value.Status.IsGood && value.Value.As<string?[]>() is { } uris && !uris.AsSpan().SequenceEqual(state.Namespaces.Uris.AsSpan()))
        {
            state.Namespaces = new NamespaceTable([.. uris]);
        }
    }

    private bool TakeStatus(DataValue value, in ReadResult result)
    {
        if (value.Status.IsBad || !value.Value.As<ExtensionObject>().TryDecode<ServerStatus>(DecodingLimits.Default, out var status) || status is null)
        {
            return true;
        }

        state.Status = status;
        return status.CurrentTime == DateTime.MinValue || state.Clock.Add(status.CurrentTime, result.Sent, result.Received);
    }

    private async ValueTask<ServiceResponse<ReadResponse>> ReadOnceAsync(IReadOnlyList<ReadValueId> nodes, TimeSpan maxAge, TimestampsToReturn timestamps, CancellationToken cancellation)
    {
        var request = new ReadRequest(maxAge.TotalMilliseconds, timestamps, nodes);
        var answer = await RequestAsync<ReadRequest, ReadResponse>(request, options.RequestTimeout, cancellation);
        CheckCount(answer.Body.Results.Count, nodes.Count, "Read");
        return answer;
    }

    /// <summary>Calls a service for as many elements at once as it takes.</summary>
    private async Task<TResult[]> InBatchesAsync<TItem, TResult>(IReadOnlyList<TItem> items, BatchLimit limit, string service, Func<IReadOnlyList<TItem>, Task<IReadOnlyList<TResult>>> call)
    {
        var results = new TResult[items.Count];
        for (var from = 0; from < items.Count;)
        {
            var size = Math.Min(limit.Value, items.Count - from);
            try
            {
                var answer = await call(size == items.Count ? items : [.. items.Skip(from).Take(size)]);
                CheckCount(answer.Count, size, service);
                for (var i = 0; i < size; i++)
                {
                    results[from + i] = answer[i];
                }

                from += size;
            }
            catch (UaServiceException e) when (size > 1 && BatchLimit.MayHelp(e.Status))
            {
                limit.TooLarge(size);
                ClientLog.FewerOperations(logger, options.Endpoint, service, size, e.Status);
            }
        }

        return results;
    }

    private void CheckCount(int found, int expected, string service)
    {
        if (found != expected)
        {
            throw new UaException(StatusCodes.BadUnknownResponse, $"{options.Endpoint} answered {service} for {expected} with {found} results");
        }
    }
}
