using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Protocols.Tests.OpcUa.Security;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>Who gets a session, and on which channel (OPC 10000-4, 5.7.2 and 5.7.3).</summary>
public sealed class SecuredSessionTests : IDisposable
{
    private readonly SecuredFixture server = new();

    public static TheoryData<string> SecurePolicies => Keys.SecurePolicies;

    public void Dispose() => server.Dispose();

    [Theory]
    [MemberData(nameof(SecurePolicies))]
    public async Task Both_sides_prove_that_they_have_their_keys(string name)
    {
        var policy = Keys.Policy(name);
        var connection = server.Open(policy);
        var request = server.Request();
        var created = server.Services.Host.Sessions.Create(connection, request);
        Assert.Equal(32, created.ServerNonce!.Length);
        Assert.True(SessionSignature.Verify(policy, server.ServerCertificate.PrivateKey, server.Client.Der, request.ClientNonce, created.ServerSignature.Algorithm, created.ServerSignature.Signature));
        var activated = await server.ActivateAsync(connection, created.AuthenticationToken, created.ServerNonce);
        Assert.Equal(32, activated.ServerNonce!.Length);
        Assert.NotEqual(created.ServerNonce, activated.ServerNonce);
        Assert.True(connection.HasSession);
    }

    [Fact]
    public async Task A_signature_over_an_old_nonce_or_by_another_key_is_refused()
    {
        var connection = server.Open();
        var created = server.Create(connection);
        var policy = connection.Policy;
        await RefusedAsync(StatusCodes.BadApplicationSignatureInvalid, server.ActivateAsync(connection, created.AuthenticationToken, new byte[32]));
        await RefusedAsync(StatusCodes.BadApplicationSignatureInvalid, server.ActivateAsync(connection, created.AuthenticationToken, new SignatureData(
            policy.AsymmetricSignatureUri, SessionSignature.Create(policy, server.User.PrivateKey, server.ServerCertificate.Der, created.ServerNonce))));
        await RefusedAsync(StatusCodes.BadApplicationSignatureInvalid, server.ActivateAsync(connection, created.AuthenticationToken, new SignatureData(null, null)));
        await server.ActivateAsync(connection, created.AuthenticationToken, created.ServerNonce!);
        await RefusedAsync(StatusCodes.BadApplicationSignatureInvalid, server.ActivateAsync(connection, created.AuthenticationToken, created.ServerNonce!));
    }

    [Fact]
    public void A_session_is_made_for_the_client_of_the_channel_only()
    {
        using var other = SecuredFixture.Make(SecuredFixture.ClientUri, Keys.Of3072Bits, server.Services.Time);
        Refused(StatusCodes.BadCertificateInvalid, server.Open(), server.Request(other));
        Refused(StatusCodes.BadCertificateInvalid, server.Open(), server.Request() with { ClientCertificate = null });
        Refused(StatusCodes.BadCertificateUriInvalid, server.Open(), server.Request(uri: "urn:test:somebody-else"));
        Refused(StatusCodes.BadNonceInvalid, server.Open(), server.Request(nonceBytes: 31));
        Refused(StatusCodes.BadNonceInvalid, server.Open(), server.Request() with { ClientNonce = null });
        Refused(StatusCodes.BadNonceInvalid, server.Open(), server.Request(nonceBytes: 129));
        Refused(StatusCodes.BadNonceInvalid, server.Open(SecurityPolicy.None), server.Request(nonceBytes: 129));
    }

    [Fact]
    public void Without_an_unprotected_endpoint_an_unprotected_channel_is_for_discovery_only()
    {
        var strict = new ServerFixture(change: options => options with
        {
            Endpoints = ServerEndpoint.Protected,
            Certificate = server.ServerCertificate,
            Validator = server.Services.Options.Validator,
        });
        Assert.Equal(StatusCodes.BadSecurityModeInsufficient, Assert.Throws<UaException>(() => strict.Host.Sessions.Create(new FakeConnection(), ServerFixture.SessionRequest())).Status);
        Assert.Equal(6, strict.Host.Endpoints.GetEndpoints(new GetEndpointsRequest(null, [], [])).Endpoints.Count);
    }

    /// <summary>5.7.3.1: the first activation comes on the channel that made the session, later ones on channels of the same client and user.</summary>
    [Fact]
    public async Task A_session_moves_only_to_another_channel_of_the_same_client()
    {
        var connection = server.Open();
        var created = server.Create(connection);
        await RefusedAsync(StatusCodes.BadSecureChannelIdInvalid, server.ActivateAsync(server.Open(), created.AuthenticationToken, created.ServerNonce!));
        var activated = await server.ActivateAsync(connection, created.AuthenticationToken, created.ServerNonce!);
        await RefusedAsync(StatusCodes.BadSecureChannelIdInvalid, server.ActivateAsync(server.Open(client: server.User), created.AuthenticationToken, activated.ServerNonce!));
        await RefusedAsync(StatusCodes.BadSecureChannelIdInvalid, server.ActivateAsync(server.Open(mode: MessageSecurityMode.Sign), created.AuthenticationToken, activated.ServerNonce!));
        await RefusedAsync(StatusCodes.BadSecureChannelIdInvalid, server.ActivateAsync(server.Open(SecurityPolicy.Aes256Sha256RsaPss), created.AuthenticationToken, activated.ServerNonce!));
        await RefusedAsync(StatusCodes.BadSecureChannelIdInvalid, server.ActivateAsync(server.Open(SecurityPolicy.None), created.AuthenticationToken, activated.ServerNonce!));
        Assert.Equal(StatusCodes.BadSecureChannelIdInvalid, Assert.Throws<UaException>(() => server.Services.Host.Sessions.Use(server.Open(), created.AuthenticationToken)).Status);

        var next = server.Open();
        await server.ActivateAsync(next, created.AuthenticationToken, activated.ServerNonce!);
        Assert.Equal((false, true), (connection.HasSession, next.HasSession));
        Assert.Equal(StatusCodes.BadSecureChannelIdInvalid, Assert.Throws<UaException>(() => server.Services.Host.Sessions.Use(connection, created.AuthenticationToken)).Status);
        server.Services.Host.Sessions.Use(next, created.AuthenticationToken);
    }

    [Fact]
    public async Task Another_channel_needs_the_same_user_the_same_channel_does_not()
    {
        var connection = server.Open();
        var created = server.Create(connection);
        var first = await server.ActivateAsync(connection, created.AuthenticationToken, created.ServerNonce!, server.Password(connection.Policy, "anna", "sesame", created.ServerNonce!));
        var next = server.Open();
        await RefusedAsync(StatusCodes.BadIdentityTokenRejected, server.ActivateAsync(next, created.AuthenticationToken, first.ServerNonce!));
        var second = await server.ActivateAsync(next, created.AuthenticationToken, first.ServerNonce!, server.Password(next.Policy, "anna", "sesame", first.ServerNonce!));
        await server.ActivateAsync(next, created.AuthenticationToken, second.ServerNonce!);
        Assert.True(server.Services.Host.Sessions.Use(next, created.AuthenticationToken).User!.IsAnonymous);
    }

    /// <summary>Also where the channel is not protected: the password is, by the policy that its token names (7.41.2).</summary>
    [Theory]
    [InlineData("None", "Basic256Sha256")]
    [InlineData("Basic256Sha256", "Basic256Sha256")]
    [InlineData("Aes128_Sha256_RsaOaep", "Aes128_Sha256_RsaOaep")]
    [InlineData("Aes256_Sha256_RsaPss", "Aes256_Sha256_RsaPss")]
    public async Task A_password_is_taken_encrypted_with_the_latest_nonce(string channel, string tokenPolicy)
    {
        var connection = server.Open(SecurityPolicy.FindByName(channel)!);
        var created = server.Create(connection);
        var policy = SecurityPolicy.FindByName(tokenPolicy)!;
        await RefusedAfterDelayAsync(StatusCodes.BadUserAccessDenied, server.ActivateAsync(connection, created.AuthenticationToken, created.ServerNonce!, server.Password(policy, "anna", "sesame", new byte[32])));
        await server.ActivateAsync(connection, created.AuthenticationToken, created.ServerNonce!, server.Password(policy, "anna", "sesame", created.ServerNonce!));
        Assert.Equal("anna", server.Services.Host.Sessions.Use(connection, created.AuthenticationToken).User!.Name);
    }

    [Fact]
    public async Task A_password_in_the_clear_is_refused_even_if_it_is_right()
    {
        var connection = server.Open(SecurityPolicy.None);
        var created = server.Create(connection);
        var clear = ExtensionObject.Of(new UserNameIdentityToken("password-Basic256Sha256", "anna", "sesame"u8.ToArray(), null));
        await RefusedAfterDelayAsync(StatusCodes.BadUserAccessDenied, server.ActivateAsync(connection, created.AuthenticationToken, created.ServerNonce!, clear));
        Assert.Equal(0, server.Users.Asked);
    }

    [Fact]
    public async Task A_user_certificate_counts_with_a_signature_by_its_key_and_only_if_it_is_known()
    {
        var connection = server.Open();
        var policy = connection.Policy;
        var created = server.Create(connection);
        var token = ExtensionObject.Of(new X509IdentityToken($"certificate-{policy.Name}", server.User.Der.ToArray()));
        var good = new SignatureData(policy.AsymmetricSignatureUri, UserTokens.Sign(policy, server.User.PrivateKey, server.ServerCertificate.Der, created.ServerNonce));
        var forged = new SignatureData(policy.AsymmetricSignatureUri, UserTokens.Sign(policy, server.Client.PrivateKey, server.ServerCertificate.Der, created.ServerNonce));
        await RefusedAfterDelayAsync(StatusCodes.BadIdentityTokenRejected, server.ActivateAsync(connection, created.AuthenticationToken, created.ServerNonce!, token, good));
        server.Users.KnownCertificate = server.User.Der.ToArray();
        await RefusedAfterDelayAsync(StatusCodes.BadUserSignatureInvalid, server.ActivateAsync(connection, created.AuthenticationToken, created.ServerNonce!, token, forged));
        await RefusedAfterDelayAsync(StatusCodes.BadUserSignatureInvalid, server.ActivateAsync(connection, created.AuthenticationToken, created.ServerNonce!, ExtensionObject.Of(new X509IdentityToken(null, [1, 2, 3])), good));
        await server.ActivateAsync(connection, created.AuthenticationToken, created.ServerNonce!, token, good);
        Assert.Equal("berta", server.Services.Host.Sessions.Use(connection, created.AuthenticationToken).User!.Name);
    }

    /// <summary>A nonce counts once, even if two activations are under way at the same time.</summary>
    [Fact]
    public async Task Of_two_activations_with_the_same_nonce_one_wins()
    {
        var connection = server.Open();
        var created = server.Create(connection);
        server.Users.Gate = new TaskCompletionSource();
        var attempts = new[] { "anna", "anna" }.Select(user =>
            server.ActivateAsync(connection, created.AuthenticationToken, created.ServerNonce!, server.Password(connection.Policy, user, "sesame", created.ServerNonce!))).ToArray();
        server.Users.Gate.SetResult();
        await RefusedAsync(StatusCodes.BadNonceInvalid, Task.WhenAll(attempts));
        Assert.Equal(1, attempts.Count(attempt => attempt.IsCompletedSuccessfully));
    }

    [Fact]
    public async Task Tokens_that_are_not_offered_or_cannot_be_read_are_refused()
    {
        var connection = server.Open();
        var created = server.Create(connection);
        await RefusedAsync(StatusCodes.BadIdentityTokenInvalid, server.ActivateAsync(connection, created.AuthenticationToken, created.ServerNonce!, new ExtensionObject(new NodeId(940), [])));
        await RefusedAsync(StatusCodes.BadIdentityTokenInvalid, server.ActivateAsync(connection, created.AuthenticationToken, created.ServerNonce!, new ExtensionObject(new NodeId(324), [1])));
        await RefusedAsync(StatusCodes.BadIdentityTokenInvalid, server.ActivateAsync(connection, created.AuthenticationToken, created.ServerNonce!, ExtensionObject.Of(new AnonymousIdentityToken("other"))));
        using var closed = new SecuredFixture();
        var named = new ServerFixture(change: _ => closed.Services.Options with { AllowAnonymous = false });
        var session = named.Host.Sessions.Create(closed.Open(SecurityPolicy.None) is var open ? open : null!, ServerFixture.SessionRequest());
        Assert.Equal(StatusCodes.BadIdentityTokenRejected, (await Assert.ThrowsAsync<UaException>(async () => await named.Host.Sessions.ActivateAsync(open, session.AuthenticationToken, ServerFixture.Activation(), TestContext.Current.CancellationToken))).Status);
    }

    private static async Task RefusedAsync(StatusCode expected, Task activation) => Assert.Equal(expected, (await Assert.ThrowsAsync<UaException>(() => activation)).Status);

    private async Task RefusedAfterDelayAsync(StatusCode expected, Task activation)
    {
        Assert.False(activation.IsCompleted);
        server.Services.Advance(10_000);
        await RefusedAsync(expected, activation);
    }

    private void Refused(StatusCode expected, FakeConnection connection, CreateSessionRequest request) =>
        Assert.Equal(expected, Assert.Throws<UaException>(() => server.Services.Host.Sessions.Create(connection, request)).Status);
}
