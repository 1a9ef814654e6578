using System.Security.Cryptography;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>Makes the token that proves who the user is (OPC 10000-4, 7.41), for the latest nonce of the server.</summary>
internal static class UserTokenMaker
{
    private static readonly SignatureData NoSignature = new(null, null);

    /// <summary>True if the token is worth nothing unless the server's certificate is trusted: a password is encrypted for whoever owns it.</summary>
    public static bool NeedsServerCertificate(ChosenEndpoint endpoint, UserIdentity identity) =>
        identity is UserIdentity.CertificateUser || (identity is UserIdentity.NamedUser && !endpoint.TokenPolicy.IsNone);

    /// <param name="serverCertificate">As the server sent it.</param>
    /// <exception cref="UaException">BadSecurityChecksFailed: a password would go unencrypted, and that is not allowed; or the token cannot be made.</exception>
    public static (ExtensionObject Token, SignatureData Signature) Make(ChosenEndpoint endpoint, UaClientOptions options, byte[]? serverCertificate, ReadOnlySpan<byte> serverNonce)
    {
        var policyId = endpoint.Token.PolicyId;
        switch (options.Identity)
        {
            case UserIdentity.NamedUser user:
                var (password, algorithm) = Protect(user, endpoint, options, serverCertificate, serverNonce);
                return (ExtensionObject.Of(new UserNameIdentityToken(policyId, user.Name, password, algorithm)), NoSignature);
            case UserIdentity.CertificateUser user:
                if (endpoint.TokenPolicy.IsNone || serverCertificate is not { Length: > 0 })
                {
                    throw new UaException(StatusCodes.BadSecurityChecksFailed, $"{options.Endpoint} names no policy to sign with for {user}; use a secured endpoint");
                }

                var signature = UserTokens.Sign(endpoint.TokenPolicy, user.Certificate.PrivateKey, serverCertificate, serverNonce);
                return (ExtensionObject.Of(new X509IdentityToken(policyId, user.Certificate.Der.ToArray())), new SignatureData(endpoint.TokenPolicy.AsymmetricSignatureUri, signature));
            default:
                return (ExtensionObject.Of(new AnonymousIdentityToken(policyId)), NoSignature);
        }
    }

    private static (byte[] Password, string? Algorithm) Protect(
        UserIdentity.NamedUser user,
        ChosenEndpoint endpoint,
        UaClientOptions options,
        byte[]? serverCertificate,
        ReadOnlySpan<byte> serverNonce)
    {
        if (!endpoint.TokenPolicy.IsNone)
        {
            using var key = PublicKeyOf(serverCertificate) ?? throw new UaException(
                StatusCodes.BadSecurityChecksFailed,
                $"{options.Endpoint} wants the password of {user} encrypted but shows no certificate with an RSA key to encrypt it for; use a secured endpoint");
            return (UserTokens.EncryptPassword(endpoint.TokenPolicy, key, user.Password, serverNonce), endpoint.TokenPolicy.AsymmetricEncryptionUri);
        }

        if (options.Mode != MessageSecurityMode.SignAndEncrypt && !options.AllowPasswordInClear)
        {
            throw new UaException(
                StatusCodes.BadSecurityChecksFailed,
                $"the password of {user} would go to {options.Endpoint} unencrypted: mode {options.Mode}, and the server names no policy for it. Use SignAndEncrypt, or allow a password in clear knowingly");
        }

        return (System.Text.Encoding.UTF8.GetBytes(user.Password), null);
    }

    private static RSA? PublicKeyOf(byte[]? certificate) => certificate is { Length: > 0 } ? ServerKey.Of(certificate) : null;
}
