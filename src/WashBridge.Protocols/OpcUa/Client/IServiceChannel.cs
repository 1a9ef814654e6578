using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>What a session needs of a secure channel.</summary>
internal interface IServiceChannel : IAsyncDisposable
{
    SecurityPolicy Policy { get; }

    MessageSecurityMode Mode { get; }

    /// <summary>Completes, with the cause, when the channel is of no more use.</summary>
    Task<UaException> Closed { get; }

    /// <exception cref="UaServiceException">The server refused the request as a whole.</exception>
    /// <exception cref="UaException">There is no answer, or no channel any more.</exception>
    ValueTask<ServiceResponse<TResponse>> RequestAsync<TRequest, TResponse>(TRequest body, NodeId authenticationToken, TimeSpan timeout, CancellationToken cancellation)
        where TRequest : IRequest<TRequest, TResponse>
        where TResponse : IEncodable<TResponse>;
}

/// <summary>Where a channel is to lead, and under what protection.</summary>
/// <param name="ServerCertificate">As the server sent it; empty for the policy None.</param>
internal sealed record ChannelTarget(Uri Address, SecurityPolicy Policy, MessageSecurityMode Mode, ReadOnlyMemory<byte> ServerCertificate);

/// <exception cref="UaException">It cannot be opened.</exception>
internal delegate Task<IServiceChannel> OpenChannel(ChannelTarget target, CancellationToken cancellation);
