using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Protocols.Tests.OpcUa.Security;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

/// <summary>What a server has to offer and to prove before it is used (OPC 10000-4, 5.5.4, 5.7.2 and 6.1).</summary>
public sealed class TrustTests
{
    public static TheoryData<string> SecurePolicies => Keys.SecurePolicies;

    [Theory]
    [MemberData(nameof(SecurePolicies))]
    public void A_trusted_server_that_proves_itself_is_used_and_gets_a_proof_from_us(string name)
    {
        using var s = new Secured();
        var policy = Keys.Policy(name);
        s.Options = s.Options with { Policy = policy, Mode = MessageSecurityMode.Sign };
        s.Session();
        Assert.Equal((policy, MessageSecurityMode.Sign), (s.Harness.Server.Channels[^1].Policy, s.Harness.Server.Channels[^1].Mode));
        var created = s.Harness.Server.RequestsOf<CreateSessionRequest>().Single();
        Assert.Equal(s.OwnCertificate.Der.ToArray(), created.ClientCertificate);
        Assert.Equal("urn:washbridge:tests:client", created.Client.ApplicationUri);
        Assert.Equal(32, created.ClientNonce!.Length);
        var proof = s.Harness.Server.RequestsOf<ActivateSessionRequest>().Single().ClientSignature;
        Assert.True(SessionSignature.Verify(policy, Keys.Second, s.ServerCertificate.Der, s.Nonce, proof.Algorithm, proof.Signature));
    }

    [Fact]
    public void The_strongest_policy_is_taken_if_none_is_named()
    {
        using var s = new Secured();
        s.Session();
        Assert.Equal(SecurityPolicy.Aes256Sha256RsaPss, s.Harness.Server.Channels[^1].Policy);
    }

    [Fact]
    public void A_policy_that_is_not_offered_is_refused_with_what_is_offered_and_never_replaced()
    {
        using var s = new Secured();
        s.Harness.Server.Endpoints.RemoveAll(e => e.SecurityPolicyUri == SecurityPolicy.Aes256Sha256RsaPss.Uri || e.SecurityMode == MessageSecurityMode.SignAndEncrypt);
        s.Options = s.Options with { Policy = SecurityPolicy.Aes256Sha256RsaPss };
        var e = s.Refused("BadSecurityPolicyRejected");
        Assert.Contains("does not offer Aes256_Sha256_RsaPss with SignAndEncrypt; it offers Aes128_Sha256_RsaOaep with Sign, Basic256Sha256 with Sign", e.Message, StringComparison.Ordinal);
        s.Options = s.Options with { Policy = null };
        s.Refused("BadSecurityModeRejected");
        Assert.All(s.Harness.Server.Channels, c => Assert.True(c.Policy.IsNone));
        Assert.Empty(s.Harness.Server.RequestsOf<CreateSessionRequest>());
    }

    [Fact]
    public void Host_and_port_are_as_configured_and_the_path_as_advertised()
    {
        using var s = new Secured();
        s.Session();
        Assert.All(s.Harness.Server.Channels, c => Assert.Equal((Secured.Host, 4840), (c.Target.Address.Host, c.Target.Address.Port)));
        Assert.Equal($"opc.tcp://{Secured.Host}:4840/plant", s.Harness.Server.RequestsOf<CreateSessionRequest>().Single().EndpointUrl);
        Assert.Equal($"opc.tcp://{Secured.Host}:4840", s.Harness.Server.RequestsOf<GetEndpointsRequest>().Single().EndpointUrl);
    }

    [Fact]
    public void A_certificate_that_is_not_trusted_is_refused()
    {
        using var s = new Secured();
        foreach (var file in Directory.GetFiles(s.Store.TrustedFolder))
        {
            File.Delete(file);
        }

        Assert.Contains("washbridge certificates trust", s.Refused("BadCertificateUntrusted").Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Another_host_is_refused_unless_that_is_allowed()
    {
        using var s = new Secured();
        s.Options = s.Options with { Endpoint = new Uri("opc.tcp://other.invalid:4840") };
        s.Refused("BadCertificateHostNameInvalid");
        s.Options = s.Options with { Exceptions = CertificateExceptions.OtherHost };
        s.Session();
    }

    [Fact]
    public void Another_application_than_expected_is_refused()
    {
        using var s = new Secured();
        s.Options = s.Options with { ServerUri = "urn:washbridge:tests:another" };
        var e = s.Refused("BadServerUriInvalid");
        Assert.Contains($"is the server \"{ScriptedServer.ApplicationUri}\"; the configuration expects \"urn:washbridge:tests:another\"", e.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_certificate_of_another_application_is_refused()
    {
        using var s = new Secured();
        for (var i = 0; i < s.Harness.Server.Endpoints.Count; i++)
        {
            var endpoint = s.Harness.Server.Endpoints[i];
            s.Harness.Server.Endpoints[i] = endpoint with { Server = endpoint.Server with { ApplicationUri = "urn:somebody:else" } };
        }

        s.Refused("BadCertificateUriInvalid");
    }

    [Fact]
    public void A_session_under_another_certificate_than_discovery_told_is_refused()
    {
        using var s = new Secured();
        var other = s.Make(ScriptedServer.ApplicationUri, Keys.First);
        s.Trust(other);
        s.Harness.Server.OnCreated = (request, response) => s.Sign(request, response) with { ServerCertificate = other.Der.ToArray() };
        Assert.Contains("another certificate", s.Refused("BadSecurityChecksFailed").Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_server_that_does_not_own_its_certificate_is_refused()
    {
        using var s = new Secured();
        s.Harness.Server.OnCreated = (request, response) =>
        {
            var signed = s.Sign(request, response);
            signed.ServerSignature.Signature![7] ^= 1;
            return signed;
        };
        s.Refused("BadApplicationSignatureInvalid");
        s.Harness.Server.OnCreated = (request, response) => s.Sign(request with { ClientNonce = new byte[32] }, response);
        s.Refused("BadApplicationSignatureInvalid");
        s.Harness.Server.OnCreated = (request, response) => s.Sign(request, response) with { ServerSignature = new SignatureData(null, null) };
        s.Refused("BadApplicationSignatureInvalid");
    }

    /// <summary>OPC 10000-4, 5.7.2.2: at least 32 bytes.</summary>
    [Fact]
    public void A_short_nonce_is_refused()
    {
        using var s = new Secured();
        s.Harness.Server.OnCreated = (request, response) => s.Sign(request, response) with { ServerNonce = new byte[31] };
        s.Refused("BadNonceInvalid");
    }

    [Fact]
    public void Endpoints_that_discovery_did_not_tell_of_are_noticed()
    {
        using var s = new Secured();
        var all = s.Harness.Server.Endpoints.ToArray();
        s.Harness.Server.OnCreated = (request, response) => s.Sign(request, response) with { ServerEndpoints = all };
        s.Harness.Server.Endpoints.RemoveAll(e => e.SecurityMode == MessageSecurityMode.SignAndEncrypt);
        s.Options = s.Options with { Mode = MessageSecurityMode.Sign };
        Assert.Contains("discovery did not", s.Refused("BadSecurityChecksFailed").Message, StringComparison.Ordinal);
    }

    /// <summary>OPC 10000-4, 5.7.2.2: only some fields are verified; a server may leave the others away.</summary>
    [Fact]
    public void Endpoints_in_another_order_with_less_detail_are_the_same()
    {
        using var s = new Secured();
        s.Harness.Server.OnCreated = (request, response) => s.Sign(request, response) with
        {
            ServerEndpoints = [.. response.ServerEndpoints.Reverse().Select(e => e with
            {
                ServerCertificate = null,
                EndpointUrl = "opc.tcp://SCRIPTED.invalid:4840/plant/",
                Server = e.Server with { ApplicationName = default },
            })],
        };
        s.Session();
    }

    [Fact]
    public void None_needs_nothing_but_must_be_asked_for_by_name()
    {
        using var h = new Harness();
        h.Session();
        Assert.Throws<ArgumentOutOfRangeException>((h.Options with { Policy = null, Mode = MessageSecurityMode.SignAndEncrypt }).Validate);
        Assert.Throws<ArgumentOutOfRangeException>((h.Options with { Policy = SecurityPolicy.None, Mode = MessageSecurityMode.Sign }).Validate);
        Assert.Throws<ArgumentOutOfRangeException>((h.Options with { Policy = SecurityPolicy.Basic256Sha256, Mode = MessageSecurityMode.None }).Validate);
    }

    [Theory]
    [InlineData("http://washer:4840")]
    [InlineData("opc.https://washer:4840")]
    [InlineData("washer")]
    public void An_endpoint_of_another_kind_is_refused_with_the_form_that_is_allowed(string endpoint)
    {
        using var h = new Harness();
        var e = Assert.ThrowsAny<ArgumentException>((h.Options with { Endpoint = new Uri(endpoint, UriKind.RelativeOrAbsolute) }).Validate);
        Assert.Contains("opc.tcp://host:port/path", e.Message, StringComparison.Ordinal);
    }
}
