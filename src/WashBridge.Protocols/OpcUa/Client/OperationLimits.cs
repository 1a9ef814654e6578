namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>
/// How many operations the server takes in one request (OPC 10000-5, 6.3.11), as it told or as it turned out: a request that is refused as too large is
/// halved, and the limit remembered.
/// </summary>
public sealed record OperationLimits
{
    public required int MaxNodesPerRead { get; init; }

    public required int MaxNodesPerBrowse { get; init; }

    public required int MaxNodesPerTranslateBrowsePaths { get; init; }

    public required int MaxMonitoredItemsPerCall { get; init; }

    /// <summary>Continuation points of one session at the same time; nodes of one browse request too, because each may need one.</summary>
    public required int MaxBrowseContinuationPoints { get; init; }
}
