using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Protocols.Tests.OpcUa.Security;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

/// <summary>Users (OPC 10000-4, 5.7.3, 7.41 and 7.42).</summary>
public sealed class IdentityTests
{
    private static readonly UserIdentity Keg = UserIdentity.UserName("keg", "wäscher");

    [Theory]
    [InlineData(MessageSecurityMode.Sign)]
    [InlineData(MessageSecurityMode.SignAndEncrypt)]
    public void A_password_is_encrypted_under_the_policy_of_the_endpoint_if_the_token_names_none(MessageSecurityMode mode)
    {
        using var s = new Secured();
        s.Options = s.Options with { Identity = Keg, Policy = SecurityPolicy.Basic256Sha256, Mode = mode };
        s.Session();
        var token = Token<UserNameIdentityToken>(s);
        Assert.Equal(("name", "keg"), (token.PolicyId, token.UserName));
        Assert.Equal("wäscher", UserTokens.DecryptPassword(SecurityPolicy.Basic256Sha256, Keys.First, token.EncryptionAlgorithm, token.Password, s.Nonce));
    }

    [Fact]
    public void A_password_is_encrypted_under_the_policy_of_its_token_even_without_security()
    {
        using var s = new Secured();
        s.Options = s.Options with { Identity = Keg, Policy = SecurityPolicy.None, Mode = MessageSecurityMode.None };
        Offer(s, new UserTokenPolicy("weaker", UserTokenType.UserName, null, null, SecurityPolicy.Aes128Sha256RsaOaep.Uri), new UserTokenPolicy("stronger", UserTokenType.UserName, null, null, SecurityPolicy.Aes256Sha256RsaPss.Uri));
        s.Harness.Server.OnCreated = (_, response) => response with { ServerNonce = s.Nonce };
        s.Session();
        var token = Token<UserNameIdentityToken>(s);
        Assert.Equal("stronger", token.PolicyId);
        Assert.Equal("wäscher", UserTokens.DecryptPassword(SecurityPolicy.Aes256Sha256RsaPss, Keys.First, token.EncryptionAlgorithm, token.Password, s.Nonce));
    }

    /// <summary>Else anybody could put a certificate of their own in the way and read the password.</summary>
    [Fact]
    public void A_password_is_encrypted_for_nobody_who_is_not_trusted()
    {
        using var s = new Secured();
        var stranger = s.Make(ScriptedServer.ApplicationUri, Keys.Second);
        s.Options = s.Options with { Identity = Keg, Policy = SecurityPolicy.None, Mode = MessageSecurityMode.None };
        s.Harness.Server.Endpoints.Add(ScriptedServer.Endpoint(SecurityPolicy.None, MessageSecurityMode.None, stranger.Der.ToArray(), new UserTokenPolicy("name", UserTokenType.UserName, null, null, SecurityPolicy.Basic256Sha256.Uri)));
        s.Refused("BadCertificateUntrusted");
    }

    [Theory]
    [InlineData(MessageSecurityMode.None, false, true)]
    [InlineData(MessageSecurityMode.None, true, false)]
    [InlineData(MessageSecurityMode.Sign, false, true)]
    [InlineData(MessageSecurityMode.Sign, true, false)]
    [InlineData(MessageSecurityMode.SignAndEncrypt, false, false)]
    public void A_password_goes_unencrypted_only_if_the_channel_hides_it_or_that_is_allowed(MessageSecurityMode mode, bool isAllowed, bool isRefused)
    {
        using var s = new Secured();
        s.Harness.Server.Endpoints.Clear();
        var policy = mode == MessageSecurityMode.None ? SecurityPolicy.None : SecurityPolicy.Basic256Sha256;
        s.Harness.Server.Endpoints.Add(ScriptedServer.Endpoint(policy, mode, s.ServerCertificate.Der.ToArray(), new UserTokenPolicy("plain", UserTokenType.UserName, null, null, SecurityPolicy.None.Uri)));
        s.Options = s.Options with { Identity = Keg, Policy = policy, Mode = mode, AllowPasswordInClear = isAllowed };
        if (isRefused)
        {
            Assert.Contains("the password of user 'keg' would go", s.Refused("BadSecurityChecksFailed").Message, StringComparison.Ordinal);
            Assert.Empty(s.Harness.Server.RequestsOf<ActivateSessionRequest>());
            return;
        }

        s.Session();
        var token = Token<UserNameIdentityToken>(s);
        Assert.Equal((null, "wäscher"), (token.EncryptionAlgorithm, System.Text.Encoding.UTF8.GetString(token.Password!)));
    }

    [Fact]
    public void A_certificate_signs_the_servers_latest_nonce()
    {
        using var s = new Secured();
        var user = s.Make("urn:somebody", Keys.Of3072Bits);
        s.Options = s.Options with { Identity = UserIdentity.X509(user), Policy = SecurityPolicy.Aes256Sha256RsaPss };
        s.Session();
        Assert.Equal(user.Der.ToArray(), Token<X509IdentityToken>(s).CertificateData);
        var signature = s.Harness.Server.RequestsOf<ActivateSessionRequest>().Single().UserTokenSignature;
        Assert.True(UserTokens.Verify(SecurityPolicy.Aes256Sha256RsaPss, Keys.Of3072Bits, s.ServerCertificate.Der, s.Nonce, signature.Algorithm, signature.Signature));
    }

    [Fact]
    public void A_certificate_cannot_sign_without_a_policy()
    {
        using var s = new Secured();
        var user = s.Make("urn:somebody", Keys.Of3072Bits);
        s.Options = s.Options with { Identity = UserIdentity.X509(user), Policy = SecurityPolicy.None, Mode = MessageSecurityMode.None };
        Offer(s, new UserTokenPolicy("certificate", UserTokenType.Certificate, null, null, null));
        Assert.Contains("use a secured endpoint", s.Refused("BadSecurityChecksFailed").Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_user_that_the_endpoint_does_not_accept_is_told_what_it_accepts()
    {
        using var h = new Harness();
        h.Options = h.Options with { Identity = Keg };
        var e = Assert.Throws<UaException>(h.Session);
        Assert.Equal(StatusCodes.BadIdentityTokenRejected, e.Status);
        Assert.Contains("does not accept user 'keg'; it accepts Anonymous", e.Message, StringComparison.Ordinal);
    }

    /// <summary>After a reconnection the signature has to be over the nonce that the last activation brought.</summary>
    [Fact]
    public void A_session_is_activated_again_with_the_nonce_that_came_last()
    {
        using var s = new Secured();
        s.Harness.Options = s.Options with { Identity = Keg, Policy = SecurityPolicy.Basic256Sha256 };
        s.Harness.Start();
        s.Harness.Server.BreakAll();
        s.Harness.Until(() => s.Harness.Listener.Resumed.Count == 2);
        var second = s.Harness.Server.RequestsOf<ActivateSessionRequest>().ElementAt(1);
        var nonce = s.Harness.Server.Nonces[0];
        Assert.NotEqual(nonce, s.Nonce);
        Assert.True(SessionSignature.Verify(SecurityPolicy.Basic256Sha256, Keys.Second, s.ServerCertificate.Der, nonce, second.ClientSignature.Algorithm, second.ClientSignature.Signature));
        Assert.True(second.UserIdentityToken.TryDecode<UserNameIdentityToken>(DecodingLimits.Default, out var token));
        Assert.Equal("wäscher", UserTokens.DecryptPassword(SecurityPolicy.Basic256Sha256, Keys.First, token!.EncryptionAlgorithm, token.Password, nonce));
        s.Harness.Dispose();
    }

    [Fact]
    public void Nobody_sees_a_password_in_text()
    {
        Assert.Equal("user 'keg'", $"{Keg}");
        using var h = new Harness();
        Assert.DoesNotContain("wäscher", $"{h.Options with { Identity = Keg }}", StringComparison.Ordinal);
    }

    private static void Offer(Secured s, params UserTokenPolicy[] tokens) =>
        s.Harness.Server.Endpoints.Add(ScriptedServer.Endpoint(SecurityPolicy.None, MessageSecurityMode.None, s.ServerCertificate.Der.ToArray(), tokens));

    private static T Token<T>(Secured s)
        where T : IEncodable<T>
    {
        Assert.True(s.Harness.Server.RequestsOf<ActivateSessionRequest>().Single().UserIdentityToken.TryDecode<T>(DecodingLimits.Default, out var token));
        return token!;
    }
}
