using Microsoft.Extensions.Logging;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>
/// A session on one channel (OPC 10000-4, 5.7), for reading only. May be used by several callers at once. It does not reconnect: once the channel is
/// lost every call fails. <see cref="UaConnection"/> keeps one alive.
/// </summary>
/// <remarks>Every service that takes a list splits it by the server's limits, and gives one result for each element, in order.</remarks>
public sealed partial class UaSession : IAsyncDisposable
{
    /// <summary>The endpoint that was chosen, as its discovery described it.</summary>
    public EndpointDescription Endpoint => throw new NotImplementedException();

    public NodeId SessionId => throw new NotImplementedException();

    public NamespaceTable Namespaces => throw new NotImplementedException();

    public OperationLimits Limits => throw new NotImplementedException();

    /// <summary>Null until the server's status has been read.</summary>
    public ClockOffset? Clock => throw new NotImplementedException();

    /// <summary>As it was read last; null if it never was.</summary>
    public ServerStatus? Status => throw new NotImplementedException();

    /// <summary>As revised by the server.</summary>
    public TimeSpan SessionTimeout => throw new NotImplementedException();

    /// <summary>Completes when the channel is of no more use, with the reason as its result.</summary>
    public Task<UaException> Closed => throw new NotImplementedException();

    /// <summary>Asks for the endpoints, checks the certificate, opens a channel, creates and activates a session, and reads what is needed to use it.</summary>
    /// <exception cref="UaException">The server cannot be reached, is not trusted, offers something else, or refuses; the message says which.</exception>
    public static Task<UaSession> ConnectAsync(UaClientOptions options, ILogger? logger, TimeProvider time, CancellationToken cancellation = default) =>
        throw new NotImplementedException();

    /// <summary>Reads attributes (OPC 10000-4, 5.11.2).</summary>
    /// <param name="maxAge">How old a value may be that the server has in store; zero: it asks the device anew.</param>
    /// <exception cref="UaException">The request as a whole failed.</exception>
    public Task<ReadResult> ReadAsync(
        IReadOnlyList<ReadValueId> nodes,
        TimeSpan maxAge = default,
        TimestampsToReturn timestamps = TimestampsToReturn.Both,
        CancellationToken cancellation = default) => throw new NotImplementedException();

    /// <summary>Reads the values of variables.</summary>
    /// <exception cref="UaException">The request as a whole failed.</exception>
    public Task<ReadResult> ReadValuesAsync(IReadOnlyList<NodeId> nodes, TimeSpan maxAge = default, CancellationToken cancellation = default) => throw new NotImplementedException();

    /// <summary>All references of each node (OPC 10000-4, 5.9.2 and 5.9.3), however many answers that takes. Their continuation points are empty.</summary>
    /// <exception cref="UaException">The request as a whole failed.</exception>
    public Task<IReadOnlyList<BrowseResult>> BrowseAsync(IReadOnlyList<BrowseDescription> nodes, CancellationToken cancellation = default) => throw new NotImplementedException();

    /// <summary>The references of one node as they arrive. Giving up early gives the continuation point back.</summary>
    /// <exception cref="UaException">The node cannot be browsed.</exception>
    public IAsyncEnumerable<ReferenceDescription> BrowseAsync(BrowseDescription node, CancellationToken cancellation = default) => throw new NotImplementedException();

    /// <summary>Follows paths of browse names (OPC 10000-4, 5.9.4).</summary>
    /// <exception cref="UaException">The request as a whole failed.</exception>
    public Task<IReadOnlyList<BrowsePathResult>> TranslateAsync(IReadOnlyList<BrowsePath> paths, CancellationToken cancellation = default) => throw new NotImplementedException();

    /// <summary>The ids that addresses stand for. Bad: the namespace is unknown (BadNodeIdUnknown), or the path leads nowhere (BadNoMatch) or to several nodes (BadBrowseNameInvalid).</summary>
    /// <exception cref="UaException">The request as a whole failed.</exception>
    public Task<IReadOnlyList<ResolvedNode>> ResolveAsync(IReadOnlyList<NodeAddress> addresses, CancellationToken cancellation = default) => throw new NotImplementedException();

    /// <summary>Closes the session, its subscriptions and the channel.</summary>
    public ValueTask DisposeAsync() => throw new NotImplementedException();
}

/// <summary>What an address stands for.</summary>
/// <param name="Node">The null id if the status is bad.</param>
public readonly record struct ResolvedNode(StatusCode Status, NodeId Node);
