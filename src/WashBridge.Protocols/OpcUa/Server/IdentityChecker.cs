using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>
/// Finds out who a user is (OPC 10000-4, 5.7.3 and 7.41). A peer learns that it was refused, and nothing of why: a wrong password, an unknown
/// user, a password that cannot be decrypted and a lock-out are answered alike.
/// </summary>
internal sealed class IdentityChecker(UaServerOptions options, EndpointList endpoints, LoginGuard guard, ServerLog log, TimeProvider time)
{
    private const int MaxUserNameLength = 256;

    /// <param name="nonce">The latest that was sent to the client: what it encrypted a password with or signed.</param>
    /// <exception cref="UaException">BadIdentityTokenInvalid, BadIdentityTokenRejected, BadUserAccessDenied or BadUserSignatureInvalid.</exception>
    public async ValueTask<SessionUser> CheckAsync(IServerConnection connection, byte[] nonce, ActivateSessionRequest request, CancellationToken cancellation)
    {
        var token = request.UserIdentityToken;
        var policies = endpoints.TokenPolicies(connection.Policy);
        if (token.EncodingId.IsNull)
        {
            Find(policies, UserTokenType.Anonymous, null);
            return SessionUser.Anonymous;
        }

        if (Decode<AnonymousIdentityToken>(token) is { } anonymous)
        {
            Find(policies, UserTokenType.Anonymous, anonymous.PolicyId);
            return SessionUser.Anonymous;
        }

        if (Decode<UserNameIdentityToken>(token) is { } named)
        {
            var policy = Find(policies, UserTokenType.UserName, named.PolicyId);
            return await CheckPasswordAsync(connection, nonce, named, policy, cancellation);
        }

        if (Decode<X509IdentityToken>(token) is { } certified)
        {
            var policy = Find(policies, UserTokenType.Certificate, certified.PolicyId);
            return await CheckCertificateAsync(connection, nonce, certified, policy, request.UserTokenSignature, cancellation);
        }

        throw new UaException(StatusCodes.BadIdentityTokenInvalid, $"a user identity token of type {token.EncodingId}");
    }

    private static T? Decode<T>(ExtensionObject token)
        where T : class, IEncodable<T>
    {
        try
        {
            return token.TryDecode<T>(DecodingLimits.Default, out var decoded) ? decoded : null;
        }
        catch (UaException e)
        {
            throw new UaException(StatusCodes.BadIdentityTokenInvalid, "a user identity token that cannot be decoded", e);
        }
    }

    /// <summary>The security policy of the token. Clients that name no policy get the one of that type.</summary>
    private static SecurityPolicy Find(IReadOnlyList<UserTokenPolicy> policies, UserTokenType type, string? policyId)
    {
        var offered = policies.FirstOrDefault(policy => policy.TokenType == type)
            ?? throw new UaException(StatusCodes.BadIdentityTokenRejected, $"{type} is not offered");
        return string.IsNullOrEmpty(policyId) || policyId == offered.PolicyId
            ? SecurityPolicy.Find(offered.SecurityPolicyUri) ?? SecurityPolicy.None
            : throw new UaException(StatusCodes.BadIdentityTokenInvalid, $"token policy \"{policyId}\" is not offered");
    }

    private async ValueTask<SessionUser> CheckPasswordAsync(
        IServerConnection connection,
        byte[] nonce,
        UserNameIdentityToken token,
        SecurityPolicy policy,
        CancellationToken cancellation)
    {
        var user = token.UserName ?? "";
        if (user.Length is > 0 and <= MaxUserNameLength && !guard.IsLockedOut(connection.Address, user))
        {
            var password = UserTokens.DecryptPassword(policy, options.Certificate!.PrivateKey, token.EncryptionAlgorithm, token.Password, nonce);
            if (password is not null && await options.Users!.IsPasswordAsync(user, password, cancellation))
            {
                guard.Succeeded(connection.Address, user);
                return new SessionUser(user);
            }
        }

        return await RefuseAsync(connection, user.Length > MaxUserNameLength ? user[..MaxUserNameLength] : user, StatusCodes.BadUserAccessDenied, cancellation);
    }

    private async ValueTask<SessionUser> CheckCertificateAsync(
        IServerConnection connection,
        byte[] nonce,
        X509IdentityToken token,
        SecurityPolicy policy,
        SignatureData signature,
        CancellationToken cancellation)
    {
        ReadOnlyMemory<byte> certificate = token.CertificateData;
        if (!IsSignedBy(certificate, nonce, policy, signature))
        {
            return await RefuseAsync(connection, "", StatusCodes.BadUserSignatureInvalid, cancellation);
        }

        return await options.Users!.FindUserAsync(CertificateChain.Leaf(certificate), cancellation) is { } user
            ? new SessionUser(user)
            : await RefuseAsync(connection, "", StatusCodes.BadIdentityTokenRejected, cancellation);
    }

    private bool IsSignedBy(ReadOnlyMemory<byte> certificate, byte[] nonce, SecurityPolicy policy, SignatureData signature)
    {
        try
        {
            using var key = CertificateChain.LeafPublicKey(certificate);
            return key.KeySize >= policy.MinimumKeyBits && key.KeySize <= policy.MaximumKeyBits
                && UserTokens.Verify(policy, key, options.Certificate!.Chain, nonce, signature.Algorithm, signature.Signature);
        }
        catch (UaException)
        {
            return false;
        }
    }

    private async ValueTask<SessionUser> RefuseAsync(IServerConnection connection, string user, StatusCode status, CancellationToken cancellation)
    {
        var isLockedOut = guard.IsLockedOut(connection.Address, user);
        var delay = guard.Failed(connection.Address, user);
        log.LoginRefused(connection.Address, user, isLockedOut);
        await Task.Delay(delay, time, cancellation);
        throw new UaException(status, "the login was refused");
    }
}
