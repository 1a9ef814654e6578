using Microsoft.Extensions.Logging;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>A real channel, as the session sees it.</summary>
internal sealed class ClientChannelAdapter(ClientChannel channel) : IServiceChannel
{
    public SecurityPolicy Policy => channel.Policy;

    public MessageSecurityMode Mode => channel.Mode;

    public Task<UaException> Closed => channel.Closed;

    public static OpenChannel Opener(UaClientOptions options, ILogger logger, TimeProvider time) => async (target, cancellation) =>
    {
        var channelOptions = new ClientChannelOptions
        {
            Endpoint = target.Address,
            Policy = target.Policy,
            Mode = target.Mode,
            Certificate = options.Certificate,
            ServerCertificate = target.ServerCertificate,
            Limits = options.Transport,
            Decoding = options.Decoding,
            TokenLifetime = options.TokenLifetime,
            ConnectTimeout = options.ConnectTimeout,
        };
        return new ClientChannelAdapter(await ClientChannel.OpenAsync(channelOptions, logger, time, cancellation));
    };

    public ValueTask<ServiceResponse<TResponse>> RequestAsync<TRequest, TResponse>(TRequest body, NodeId authenticationToken, TimeSpan timeout, CancellationToken cancellation)
        where TRequest : IRequest<TRequest, TResponse>
        where TResponse : IEncodable<TResponse> =>
        channel.RequestAsync<TRequest, TResponse>(body, authenticationToken, timeout, cancellation);

    public ValueTask DisposeAsync() => channel.DisposeAsync();
}
