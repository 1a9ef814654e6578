using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <content>Who may create and activate a session, and on which channel.</content>
internal sealed partial class SessionManager
{
    private const int MaxNonceBytes = 128;

    /// <summary>Channels without protection are open to discovery in any case, to sessions only where that is offered.</summary>
    private void CheckChannel(IServerConnection connection)
    {
        if (!options.Endpoints.Any(endpoint => endpoint.Policy == connection.Policy && endpoint.Mode == connection.Mode))
        {
            throw new UaException(StatusCodes.BadSecurityModeInsufficient, $"policy {connection.Policy} with mode {connection.Mode} is not offered for sessions");
        }
    }

    /// <summary>The client must be who the channel says it is (OPC 10000-4, 5.7.2).</summary>
    private void CheckClient(IServerConnection connection, CreateSessionRequest request)
    {
        if (request.ClientNonce is { Length: > MaxNonceBytes } || (!connection.Policy.IsNone && request.ClientNonce is not { Length: >= NonceBytes }))
        {
            throw new UaException(StatusCodes.BadNonceInvalid, $"a nonce of {request.ClientNonce?.Length ?? 0} bytes; allowed: {NonceBytes} to {MaxNonceBytes}");
        }

        if (connection.Policy.IsNone)
        {
            return;
        }

        if (request.ClientCertificate is not { Length: > 0 } certificate || !IsSameLeaf(certificate, connection.ClientCertificate))
        {
            throw new UaException(StatusCodes.BadCertificateInvalid, "the certificate is not the channel's");
        }

        var check = options.Validator!.Validate(connection.ClientCertificate, new CertificateExpectation
        {
            Purpose = CertificatePurpose.Client,
            SecurityPolicy = connection.Policy,
            ApplicationUri = request.Client.ApplicationUri ?? "",
        });
        if (!check.IsAccepted)
        {
            log.CertificateRefused(connection.Address, string.Join(" ", check.Findings));
            throw new UaException(check.Status == StatusCodes.BadCertificateUriInvalid ? check.Status : check.StatusForPeer, "the certificate is not accepted");
        }
    }

    /// <summary>An activation comes on the channel that made the session, or later on another one of the same client (OPC 10000-4, 5.7.3.1).</summary>
    private static void CheckSameClient(IServerConnection connection, Session session)
    {
        var before = session.Connection;
        if (before == connection)
        {
            return;
        }

        if (!session.IsActivated || connection.Policy != before.Policy || connection.Mode != before.Mode || !IsSameLeaf(connection.ClientCertificate, before.ClientCertificate))
        {
            throw new UaException(StatusCodes.BadSecureChannelIdInvalid, "the session belongs to another channel");
        }
    }

    private void CheckSignature(IServerConnection connection, byte[] nonce, SignatureData signature)
    {
        if (connection.Policy.IsNone)
        {
            return;
        }

        using var key = CertificateChain.LeafPublicKey(connection.ClientCertificate);
        if (!SessionSignature.Verify(connection.Policy, key, options.Certificate!.Chain, nonce, signature.Algorithm, signature.Signature))
        {
            throw new UaException(StatusCodes.BadApplicationSignatureInvalid, "the signature is not over our certificate and nonce");
        }
    }

    private static bool IsSameLeaf(ReadOnlyMemory<byte> one, ReadOnlyMemory<byte> other) =>
        one.IsEmpty || other.IsEmpty ? one.IsEmpty && other.IsEmpty : CertificateChain.Leaf(one).Span.SequenceEqual(CertificateChain.Leaf(other).Span);
}
