using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>
/// Asks a server how it can be reached (OPC 10000-4, 5.5). Discovery is never protected: what it tells is a claim, which the session compares and the
/// certificate must confirm.
/// </summary>
public static class UaDiscovery
{
    /// <summary>The endpoints of the server at that address (OPC 10000-4, 5.5.4).</summary>
    /// <param name="address"><c>opc.tcp://host:port/path</c>.</param>
    /// <param name="timeout">For connecting, and again for the answer.</param>
    /// <exception cref="UaException">It cannot be reached, or refuses.</exception>
    public static Task<IReadOnlyList<EndpointDescription>> GetEndpointsAsync(Uri address, TimeSpan timeout, ILogger? logger, TimeProvider time, CancellationToken cancellation = default) =>
        GetEndpointsAsync(address, timeout, Channel(timeout, logger, time), cancellation);

    /// <summary>The servers known at that address; that of a single server knows itself (OPC 10000-4, 5.5.2).</summary>
    /// <param name="address"><c>opc.tcp://host:port/path</c>.</param>
    /// <param name="timeout">For connecting, and again for the answer.</param>
    /// <exception cref="UaException">It cannot be reached, or refuses.</exception>
    public static Task<IReadOnlyList<ApplicationDescription>> FindServersAsync(Uri address, TimeSpan timeout, ILogger? logger, TimeProvider time, CancellationToken cancellation = default) =>
        FindServersAsync(address, timeout, Channel(timeout, logger, time), cancellation);

    internal static async Task<IReadOnlyList<EndpointDescription>> GetEndpointsAsync(Uri address, TimeSpan timeout, OpenChannel open, CancellationToken cancellation)
    {
        await using var channel = await open(Unprotected(address), cancellation);
        var request = new GetEndpointsRequest(address.OriginalString, [], []);
        return (await channel.RequestAsync<GetEndpointsRequest, GetEndpointsResponse>(request, NodeId.Null, timeout, cancellation)).Body.Endpoints;
    }

    internal static async Task<IReadOnlyList<ApplicationDescription>> FindServersAsync(Uri address, TimeSpan timeout, OpenChannel open, CancellationToken cancellation)
    {
        await using var channel = await open(Unprotected(address), cancellation);
        var request = new FindServersRequest(address.OriginalString, [], []);
        return (await channel.RequestAsync<FindServersRequest, FindServersResponse>(request, NodeId.Null, timeout, cancellation)).Body.Servers;
    }

    private static ChannelTarget Unprotected(Uri address) => new(address, SecurityPolicy.None, MessageSecurityMode.None, default);

    private static OpenChannel Channel(TimeSpan timeout, ILogger? logger, TimeProvider time) =>
        ClientChannelAdapter.Opener(new UaClientOptions { Endpoint = new Uri("opc.tcp://localhost"), Identity = UserIdentity.Anonymous, ConnectTimeout = timeout }, logger ?? NullLogger.Instance, time);
}
