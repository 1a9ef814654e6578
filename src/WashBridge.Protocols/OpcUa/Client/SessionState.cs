using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>What outlives a channel: enough to activate the session on another one.</summary>
internal sealed class SessionState(ChosenEndpoint endpoint, SessionLimits limits, ServerClock clock)
{
    public ChosenEndpoint Endpoint => endpoint;

    public SessionLimits Limits => limits;

    public ServerClock Clock => clock;

    public required NodeId SessionId { get; init; }

    public required NodeId AuthenticationToken { get; init; }

    /// <summary>As revised by the server.</summary>
    public required TimeSpan Timeout { get; init; }

    /// <summary>As the server sent it; null where it has none.</summary>
    public required byte[]? ServerCertificate { get; init; }

    /// <summary>The latest; each activation brings a new one.</summary>
    public required byte[] ServerNonce { get; set; }

    public NamespaceTable Namespaces { get; set; } = new([]);

    public ServerStatus? Status { get; set; }
}

/// <summary>Operations in one request, by service.</summary>
internal sealed class SessionLimits(int most)
{
    public BatchLimit Read { get; } = new(most);

    public BatchLimit Browse { get; } = new(most);

    public BatchLimit Translate { get; } = new(most);

    public BatchLimit MonitoredItems { get; } = new(most);

    /// <summary>Also the nodes of one browse request, as each may need a continuation point.</summary>
    public BatchLimit ContinuationPoints { get; } = new(most);

    public OperationLimits ToPublic() => new()
    {
        MaxNodesPerRead = Read.Value,
        MaxNodesPerBrowse = Browse.Value,
        MaxNodesPerTranslateBrowsePaths = Translate.Value,
        MaxMonitoredItemsPerCall = MonitoredItems.Value,
        MaxBrowseContinuationPoints = ContinuationPoints.Value,
    };
}
