using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>What the server has to prove.</summary>
internal sealed partial class SessionOpener
{
    private void ValidateCertificate(ChosenEndpoint endpoint)
    {
        if (endpoint.Description.ServerCertificate is not { Length: > 0 } chain)
        {
            throw new UaException(StatusCodes.BadCertificateInvalid, $"{options.Endpoint} shows no certificate for {endpoint.Policy}");
        }

        if (options.Validator is not { } validator)
        {
            throw new UaException(StatusCodes.BadConfigurationError, $"nothing can validate the certificate of {options.Endpoint}: a certificate store is needed even for an encrypted password alone");
        }

        var check = validator.Validate(chain, new CertificateExpectation
        {
            Purpose = CertificatePurpose.Server,
            SecurityPolicy = endpoint.Policy.IsNone ? endpoint.TokenPolicy : endpoint.Policy,
            ApplicationUri = options.ServerUri ?? endpoint.Description.Server.ApplicationUri,
            Host = options.Endpoint.DnsSafeHost,
            AllowExpired = options.Exceptions.HasFlag(CertificateExceptions.Expired),
            AllowOtherHost = options.Exceptions.HasFlag(CertificateExceptions.OtherHost),
            AllowOtherApplicationUri = options.Exceptions.HasFlag(CertificateExceptions.OtherApplicationUri),
            AllowOtherUsage = options.Exceptions.HasFlag(CertificateExceptions.OtherUsage),
            AllowUnknownRevocation = options.Exceptions.HasFlag(CertificateExceptions.UnknownRevocation),
        });
        foreach (var allowed in check.Allowed)
        {
            ClientLog.CertificateAllowed(logger, options.Endpoint, allowed.Message);
        }

        check.ThrowIfRefused();
    }

    /// <summary>OPC 10000-4, 5.7.2: the certificate, the signature and the endpoints must confirm what discovery told. Without security nothing can be confirmed.</summary>
    private void CheckServer(ChosenEndpoint endpoint, CreateSessionResponse created, byte[] clientNonce)
    {
        if (endpoint.Policy.IsNone)
        {
            return;
        }

        ReadOnlyMemory<byte> expected = endpoint.Description.ServerCertificate;
        ReadOnlyMemory<byte> shown = created.ServerCertificate;
        if (shown.IsEmpty || !CertificateChain.Leaf(shown).Span.SequenceEqual(CertificateChain.Leaf(expected).Span))
        {
            throw Refused("it shows another certificate for the session than its discovery told");
        }

        using var key = ServerKey.Of(shown) ?? throw new UaException(StatusCodes.BadCertificateInvalid, $"the certificate of {options.Endpoint} has no RSA key");
        if (!SessionSignature.Verify(endpoint.Policy, key, options.Certificate!.Chain, clientNonce, created.ServerSignature.Algorithm, created.ServerSignature.Signature))
        {
            throw new UaException(StatusCodes.BadApplicationSignatureInvalid, $"{options.Endpoint} did not prove that it owns its certificate: the signature over our nonce is wrong");
        }

        if (created.ServerNonce is not { Length: >= NonceBytes })
        {
            throw new UaException(StatusCodes.BadNonceInvalid, $"{options.Endpoint} sent a nonce of {created.ServerNonce?.Length ?? 0} bytes; at least {NonceBytes} are asked for");
        }

        if (EndpointComparison.Difference(endpoint.Offered, created.ServerEndpoints) is { } difference)
        {
            throw Refused($"its endpoints differ: {difference}. Somebody may have changed what discovery told");
        }
    }

    private UaException Refused(string why) => new(StatusCodes.BadSecurityChecksFailed, $"{options.Endpoint} is not trusted: {why}");
}
