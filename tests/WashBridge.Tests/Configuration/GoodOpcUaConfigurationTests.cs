using System.Net;
using WashBridge.Configuration;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Tests.Configuration;

public sealed class GoodOpcUaConfigurationTests : IDisposable
{
    private readonly ConfigurationFixture fixture = new("GoodOpcUa");

    public void Dispose() => fixture.Dispose();

    [Fact]
    public void Every_key_of_a_connection_arrives() => Assert.Equal(
        new OpcUaConnection
        {
            Endpoint = new Uri("opc.tcp://washer3.example:4840/line"),
            Policy = SecurityPolicy.Basic256Sha256,
            Mode = MessageSecurityMode.Sign,
            Identity = new UserNameIdentity("bridge", "not-so-secret"),
            ServerUri = "urn:example:washer-3",
            Timeout = TimeSpan.FromSeconds(2),
            SessionTimeout = TimeSpan.FromSeconds(30),
        },
        Load().Washers[0].Connection);

    [Fact]
    public void A_connection_that_says_nothing_of_security_is_encrypted_with_the_strongest_policy_offered() => Assert.Equal(
        new OpcUaConnection
        {
            Endpoint = new Uri("opc.tcp://192.0.2.40:48400"),
            Policy = null,
            Mode = MessageSecurityMode.SignAndEncrypt,
            Identity = new AnonymousIdentity(),
            Timeout = TimeSpan.FromSeconds(3),
            SessionTimeout = TimeSpan.FromSeconds(60),
        },
        Load().Washers[1].Connection);

    /// <summary>4840 is the port registered for opc.tcp (OPC 10000-6, 7.2; value from memory); addresses of IPv6 stand in brackets (RFC 3986, 3.2.2).</summary>
    [Theory]
    [InlineData("opc.tcp://washer", "opc.tcp://washer:4840/")]
    [InlineData("opc.tcp://192.0.2.1:80/a/b", "opc.tcp://192.0.2.1:80/a/b")]
    [InlineData("opc.tcp://[2001:db8::1]:4841", "opc.tcp://[2001:db8::1]:4841/")]
    public void Endpoints_may_leave_out_port_and_path(string text, string expected)
    {
        fixture.Replace("washers/w4.yaml", "endpoint: opc.tcp://192.0.2.40:48400", $"endpoint: '{text}'");
        Assert.Equal(expected, Assert.IsType<OpcUaConnection>(Load().Washers[1].Connection).Endpoint.AbsoluteUri);
        Assert.True(Schemas.Accepts(fixture.Folder, "washers/w4.yaml"));
    }

    [Fact]
    public void Nodes_arrive_with_the_names_of_namespaces_replaced_by_their_URIs()
    {
        var sources = Load().Washers[0].Tags.Select(t => Assert.IsType<OpcUaSource>(t.Source)).ToList();
        Assert.Equal(
            [
                "/Objects/nsu=urn:example:washer;Washers/nsu=urn:example:washer;Washer 1/nsu=urn:example:washer;Step",
                "nsu=urn:example:washer;s=Washer1.Status",
                "nsu=urn:example:washer;s=Washer1.Kegs",
                "ns=3;i=4711",
                "/Objects/2:Baths/2:Bath&.3.nsu=http://opcfoundation.org/UA/DI/;Temperature",
                "ns=2;g=09087e75-8e5e-499b-954f-f2a9603db28a",
            ],
            sources.Select(s => s.Node.ToString()));
        Assert.Equal([50, 10, 10, 10, 10, 10], sources.Select(s => s.Queue));
        Assert.Equal([null, null, 0, 1, null, null], sources.Select(s => s.Index));
        Assert.Equal([null, 5, null, null, null, null], sources.Select(s => s.Bit));
        Assert.Equal(["/w:Washers/w:Washer 1/w:Step", "ns=w;s=Washer1.Status bit 5", "nsu=urn:example:washer;s=Washer1.Kegs[0]"], sources.Take(3).Select(s => s.ToString()));
    }

    [Fact]
    public void Everything_else_of_a_tag_is_as_for_Modbus()
    {
        var tag = Load().Washers[0].Tags.Single(t => t.Signal.Name == "temperature.sanitiser");
        Assert.Equal((1, 0.1, -5, 0.2, -10, 120), (tag.Group, tag.Scale, tag.Offset, tag.DeadBand, tag.Minimum, tag.Maximum));
        Assert.True(Load().Washers[0].Tags[3].Invert);
    }

    [Fact]
    public void The_section_of_the_site_arrives()
    {
        var application = Load().OpcUa;
        Assert.Equal(Path.Combine(fixture.Folder, "certificates"), application.Pki);
        Assert.Equal(("Bridge of the test site", "urn:example:bridge"), (application.ApplicationName, application.ApplicationUri));
        Assert.Equal(["bridge.example", "192.0.2.5"], application.HostNames);
        var server = application.Server!;
        Assert.Equal((4841, IPAddress.Parse("192.0.2.5"), false), (server.Port, server.Listen, server.AllowAnonymous));
        Assert.Equal([SecurityPolicy.Aes256Sha256RsaPss, SecurityPolicy.Basic256Sha256], server.Policies);
        Assert.Equal([MessageSecurityMode.SignAndEncrypt, MessageSecurityMode.Sign], server.Modes);
        Assert.True(Assert.IsType<PasswordUser>(server.Users[0]).Password.Fits("not-so-secret"));

        // Made with another implementation: Python's hashlib.pbkdf2_hmac('sha256', b'another-password', bytes(range(16)), 100000).
        Assert.True(Assert.IsType<PasswordUser>(server.Users[1]).Password.Fits("another-password"));
        Assert.Equal(new CertificateUser("historian", "0123456789ABCDEF0123456789ABCDEF01234567"), server.Users[2]);
    }

    [Fact]
    public void Without_the_section_the_certificates_lie_beside_the_site_file_and_there_is_no_server()
    {
        var text = File.ReadAllText(Path.Combine(fixture.Folder, "site.yaml"));
        fixture.Write("site.yaml", text[..text.IndexOf("opc-ua:", StringComparison.Ordinal)]);
        var application = Load().OpcUa;
        Assert.Equal((Path.Combine(fixture.Folder, "pki"), "WashBridge", "urn:washbridge:test-site"), (application.Pki, application.ApplicationName, application.ApplicationUri));
        Assert.Null(application.Server);
    }

    [Fact]
    public void A_server_that_says_nothing_listens_on_loopback_and_encrypts()
    {
        var text = File.ReadAllText(Path.Combine(fixture.Folder, "site.yaml"));
        fixture.Write("site.yaml", text[..text.IndexOf("  server:", StringComparison.Ordinal)] + "  server: {users: [{user: plant, secret: {env: TEST_SECRET}}]}\n");
        var server = Load().OpcUa.Server!;
        Assert.Equal((4840, IPAddress.Loopback, false), (server.Port, server.Listen, server.AllowAnonymous));
        Assert.Equal([SecurityPolicy.Aes256Sha256RsaPss, SecurityPolicy.Aes128Sha256RsaOaep, SecurityPolicy.Basic256Sha256], server.Policies);
        Assert.Equal([MessageSecurityMode.SignAndEncrypt], server.Modes);
    }

    [Fact]
    public void A_secured_site_has_nothing_to_warn_of() => Assert.Empty(Load().Warnings);

    [Fact]
    public void A_connection_without_security_is_allowed_and_warned_of()
    {
        fixture.Replace("washers/w4.yaml", "endpoint: opc.tcp://192.0.2.40:48400", "endpoint: opc.tcp://192.0.2.40:48400\n  security-mode: None");
        var site = Load();
        var connection = Assert.IsType<OpcUaConnection>(site.Washers[1].Connection);
        Assert.Equal((SecurityPolicy.None, MessageSecurityMode.None), (connection.Policy, connection.Mode));
        var warning = Assert.Single(site.Warnings);
        Assert.Equal("connection.security-mode", warning.Place.Field);
        Assert.Equal(6, warning.Place.Line);
    }

    [Fact]
    public void A_readable_password_is_allowed_knowingly_and_warned_of()
    {
        fixture.Replace("washers/w3.yaml", "security-policy: Basic256Sha256\n  security-mode: Sign", "security-mode: None\n  readable-password: true");
        var site = Load();
        Assert.Equal(new UserNameIdentity("bridge", "not-so-secret", MayBeReadable: true), Assert.IsType<OpcUaConnection>(site.Washers[0].Connection).Identity);
        Assert.Equal(["connection.security-mode", "connection.readable-password"], site.Warnings.Select(w => w.Place.Field));
    }

    [Fact]
    public void Faults_of_a_certificate_that_are_let_pass_arrive_and_are_warned_of()
    {
        fixture.Replace("washers/w3.yaml", "server-uri: urn:example:washer-3", "server-uri: urn:example:washer-3\n  allow: [expired, other-host]");
        var site = Load();
        Assert.Equal(CertificateExceptions.Expired | CertificateExceptions.OtherHost, Assert.IsType<OpcUaConnection>(site.Washers[0].Connection).Exceptions);
        Assert.Equal(["connection.allow[0]", "connection.allow[1]"], site.Warnings.Select(w => w.Place.Field));
    }

    [Fact]
    public void A_server_without_security_is_allowed_on_loopback_and_warned_of()
    {
        fixture.Replace("site.yaml", "listen: 192.0.2.5", "listen: 127.0.0.1");
        fixture.Replace("site.yaml", "[Basic256Sha256, Aes256_Sha256_RsaPss]", "[None]");
        var site = Load();
        Assert.Equal([SecurityPolicy.None], site.OpcUa.Server!.Policies);
        Assert.Equal("opc-ua.server.security-policies", Assert.Single(site.Warnings).Place.Field);
    }

    [Fact]
    public void A_password_of_a_connection_is_never_written_out() =>
        Assert.DoesNotContain("not-so-secret", Load().Washers[0].Connection.ToString(), StringComparison.Ordinal);

    private Site Load()
    {
        var loaded = fixture.Load();
        Assert.Empty(loaded.Problems);
        return loaded.Site!;
    }
}
