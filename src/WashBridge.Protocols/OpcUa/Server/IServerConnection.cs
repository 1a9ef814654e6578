using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>What sessions need of a channel.</summary>
internal interface IServerConnection
{
    SecurityPolicy Policy { get; }

    MessageSecurityMode Mode { get; }

    /// <summary>In DER with or without issuers; empty under the policy None.</summary>
    ReadOnlyMemory<byte> ClientCertificate { get; }

    /// <summary>The address that it comes from, without the port.</summary>
    string Address { get; }

    /// <summary>Whether an activated session is used on it: such a connection does not give way to a new one.</summary>
    bool HasSession { get; set; }

    /// <summary>Completes when the network has taken the answer.</summary>
    ValueTask SendAsync<TResponse>(uint requestId, ResponseHeader header, TResponse body, CancellationToken cancellation)
        where TResponse : IEncodable<TResponse>;

    /// <summary>Sends an answer in the background, in the order of the calls. Nothing happens if the connection has ended.</summary>
    void Post<TResponse>(uint requestId, ResponseHeader header, TResponse body)
        where TResponse : IEncodable<TResponse>;
}
