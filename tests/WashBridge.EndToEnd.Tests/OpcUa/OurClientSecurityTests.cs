using WashBridge.EndToEnd.Tests.Program;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.EndToEnd.Tests.OpcUa;

/// <summary>Our client against a node-opcua server: every policy, mode and identity; right and wrong credentials; certificates of every kind.</summary>
[Collection(OpcUaCollection.Name)]
public sealed class OurClientSecurityTests(OpcUaLab lab)
{
    private static readonly StatusCode[] CredentialsRefused = [StatusCodes.BadUserAccessDenied, StatusCodes.BadIdentityTokenRejected, StatusCodes.BadIdentityTokenInvalid];
    private static readonly UserIdentity Named = UserIdentity.UserName("keg", "washer");

    public static TheoryData<string, MessageSecurityMode, string> Combinations()
    {
        var data = new TheoryData<string, MessageSecurityMode, string>();
        foreach (var policy in SecurityPolicy.All)
        {
            MessageSecurityMode[] modes = policy.IsNone ? [MessageSecurityMode.None] : [MessageSecurityMode.Sign, MessageSecurityMode.SignAndEncrypt];
            foreach (var mode in modes)
            {
                foreach (var identity in (string[])["anonymous", "name", "certificate"])
                {
                    data.Add(policy.Name, mode, identity);
                }
            }
        }

        return data;
    }

    [Theory]
    [MemberData(nameof(Combinations))]
    public async Task Every_policy_mode_and_identity_reads(string policy, MessageSecurityMode mode, string identity)
    {
        var server = await lab.Server;
        await using var session = await OpcUaLab.ConnectAsync(lab.Options(server) with { Policy = SecurityPolicy.FindByName(policy), Mode = mode, Identity = Identity(identity) });
        Assert.EndsWith(policy, session.Endpoint.SecurityPolicyUri, StringComparison.Ordinal);
        Assert.Equal(mode, session.Endpoint.SecurityMode);
        var ns = session.Namespaces.IndexOf(OpcUaPeerServer.Namespace);
        var result = await session.ReadValuesAsync([new NodeId((ushort)ns, "Scalar.String"), new NodeId((ushort)ns, "Long.131072")], cancellation: TestContext.Current.CancellationToken);
        Assert.Equal("水Boy", result.Values[0].Value.Value);
        Assert.Equal(131_072, result.Values[1].Value.As<string>()!.Length);
    }

    [Theory]
    [InlineData("keg", "wrong")]
    [InlineData("keg", "")]
    [InlineData("nobody", "washer")]
    public async Task A_wrong_name_or_password_is_refused(string name, string password)
    {
        var refusal = await OpcUaLab.RefusalAsync(Secured(await lab.Server) with { Identity = UserIdentity.UserName(name, password) });
        Assert.Contains(refusal.Status, CredentialsRefused);
    }

    [Fact]
    public async Task A_password_goes_encrypted_even_without_a_protected_channel()
    {
        await using var session = await OpcUaLab.ConnectAsync(lab.Options(await lab.Server) with { Identity = Named });
        Assert.False(session.SessionId.IsNull);
    }

    [Fact]
    public async Task Users_and_clients_that_the_server_does_not_know_are_refused_and_let_in_once_it_does()
    {
        var strict = await lab.ServerAsync("strict", new { anonymous = false, acceptClients = false, acceptUsers = false, policies = new[] { "Basic256Sha256" }, variables = 6, bigFolder = 0 });
        var options = Secured(strict) with { Identity = Named };
        var unknown = await OpcUaLab.RefusalAsync(options);
        Assert.True(unknown.Status.IsBad, unknown.Message);

        await TrustThereAsync(strict, "client", OpcUaLab.OurCertificate);
        await using (var session = await OpcUaLab.ConnectAsync(options))
        {
            Assert.False(session.SessionId.IsNull);
        }

        var anonymous = await OpcUaLab.RefusalAsync(options with { Identity = UserIdentity.Anonymous });
        Assert.True(anonymous.Status.IsBad, anonymous.Message);
        var byCertificate = options with { Identity = UserIdentity.X509(OpcUaLab.UserCertificate) };
        var user = await OpcUaLab.RefusalAsync(byCertificate);
        Assert.Contains(user.Status, CredentialsRefused);
        await TrustThereAsync(strict, "user", OpcUaLab.UserCertificate);
        await using var known = await OpcUaLab.ConnectAsync(byCertificate);
        Assert.False(known.SessionId.IsNull);
    }

    [Theory]
    [InlineData("expired", CertificateExceptions.Expired)]
    [InlineData("notyet", CertificateExceptions.Expired)]
    [InlineData("wronguri", CertificateExceptions.OtherApplicationUri)]
    [InlineData("wronghost", CertificateExceptions.OtherHost)]
    public async Task A_server_whose_certificate_is_faulty_is_refused_until_that_fault_is_allowed(string kind, CertificateExceptions allowance)
    {
        var status = kind switch
        {
            "wronguri" => StatusCodes.BadCertificateUriInvalid,
            "wronghost" => StatusCodes.BadCertificateHostNameInvalid,
            _ => StatusCodes.BadCertificateTimeInvalid,
        };
        await using var server = await OpcUaPeerServer.StartAsync(new { certificate = kind, policies = new[] { "Basic256Sha256" }, variables = 6, bigFolder = 0, rateHz = 0 });
        var options = Secured(server);

        var untrusted = await OpcUaLab.RefusalAsync(options with { Exceptions = allowance });
        Assert.Equal(StatusCodes.BadCertificateUntrusted, untrusted.Status);

        lab.Trust(server.CertificateFile);
        var faulty = await OpcUaLab.RefusalAsync(options);
        Assert.Equal(status, faulty.Status);
        var other = allowance == CertificateExceptions.Expired ? CertificateExceptions.OtherHost : CertificateExceptions.Expired;
        Assert.Equal(status, (await OpcUaLab.RefusalAsync(options with { Exceptions = other })).Status);

        await using var session = await OpcUaLab.ConnectAsync(options with { Exceptions = allowance });
        Assert.False(session.SessionId.IsNull);
    }

    [Fact]
    public async Task An_unknown_server_is_refused_and_can_be_trusted_knowingly()
    {
        await using var server = await OpcUaPeerServer.StartAsync(new { variables = 6, bigFolder = 0, rateHz = 0 });
        var options = Secured(server);
        var refusal = await OpcUaLab.RefusalAsync(options);
        Assert.Equal(StatusCodes.BadCertificateUntrusted, refusal.Status);
        using var certificate = OpcUaLab.LoadCertificate(server.CertificateFile);
        Assert.Contains(certificate.Thumbprint, refusal.Message, StringComparison.OrdinalIgnoreCase);

        // An encrypted password is of no use to anybody but the owner of that certificate: it too must be trusted.
        Assert.Equal(StatusCodes.BadCertificateUntrusted, (await OpcUaLab.RefusalAsync(lab.Options(server) with { Identity = Named })).Status);

        lab.Store.Trust(certificate.Thumbprint);
        await using var session = await OpcUaLab.ConnectAsync(options);
        Assert.False(session.SessionId.IsNull);
    }

    [Fact]
    public async Task What_the_server_does_not_offer_is_refused_and_not_replaced_by_something_weaker()
    {
        var server = await lab.ServerAsync("basic", new { policies = new[] { "None", "Basic256Sha256" }, modes = new[] { "Sign" }, variables = 6, bigFolder = 0 });
        var policy = await OpcUaLab.RefusalAsync(lab.Options(server) with { Policy = SecurityPolicy.Aes256Sha256RsaPss, Mode = MessageSecurityMode.Sign });
        Assert.Equal(StatusCodes.BadSecurityPolicyRejected, policy.Status);
        var mode = await OpcUaLab.RefusalAsync(lab.Options(server) with { Policy = null, Mode = MessageSecurityMode.SignAndEncrypt });
        Assert.True(mode.Status == StatusCodes.BadSecurityModeRejected || mode.Status == StatusCodes.BadSecurityPolicyRejected, mode.Message);
        await using var session = await OpcUaLab.ConnectAsync(lab.Options(server) with { Policy = null, Mode = MessageSecurityMode.Sign });
        Assert.EndsWith("Basic256Sha256", session.Endpoint.SecurityPolicyUri, StringComparison.Ordinal);
    }

    private static UserIdentity Identity(string kind) => kind switch
    {
        "anonymous" => UserIdentity.Anonymous,
        "name" => Named,
        _ => UserIdentity.X509(OpcUaLab.UserCertificate),
    };

    private static async Task TrustThereAsync(OpcUaPeerServer server, string whom, ApplicationCertificate certificate)
    {
        using var folder = new TemporaryFolder();
        await File.WriteAllTextAsync(folder["known.pem"], certificate.Certificate.ExportCertificatePem(), TestContext.Current.CancellationToken);
        await server.DoAsync($"trust {whom} {folder["known.pem"]}");
    }

    private UaClientOptions Secured(OpcUaPeerServer server) => lab.Options(server) with { Policy = SecurityPolicy.Basic256Sha256, Mode = MessageSecurityMode.SignAndEncrypt };
}
