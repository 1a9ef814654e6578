using System.Net;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using WashBridge.Core.Records;

namespace WashBridge.Tests.Configuration;

public sealed class HttpConfigurationTests
{
    private const string Network = "login: required\n  listen: 192.0.2.5\n  certificate: tls.pem\n  key: tls.key";

    [Fact]
    public void On_the_network_a_certificate_with_its_chain_and_a_login_are_taken()
    {
        using var fixture = new ConfigurationFixture();
        WriteCertificate(fixture, withIssuer: true);
        fixture.Replace("site.yaml", "login: required", Network);
        var http = fixture.Load().Site!.Http!;
        Assert.Equal(IPAddress.Parse("192.0.2.5"), http.Listen);
        Assert.True(http.IsSecure && http.NeedsLogin);
        Assert.Equal(2, http.Certificates.Count);
        Assert.True(http.Certificates[0].HasPrivateKey);
        Assert.Equal("CN=washers.example", http.Certificates[0].Subject);
    }

    [Fact]
    public void Left_out_a_login_is_asked_for_on_the_network_and_not_on_loopback()
    {
        using var fixture = new ConfigurationFixture();
        WriteCertificate(fixture);
        fixture.Replace("site.yaml", "login: required", Network["login: required\n  ".Length..]);
        Assert.True(fixture.Load().Site!.Http!.NeedsLogin);

        using var local = new ConfigurationFixture();
        local.Replace("site.yaml", "  login: required\n", "");
        var site = local.Load().Site!;
        Assert.False(site.Http!.NeedsLogin);
        Assert.Contains(site.Warnings, w => w.Place.Field == "http.approvals");
    }

    [Fact]
    public void A_key_that_is_not_the_certificates_is_refused()
    {
        using var fixture = new ConfigurationFixture();
        WriteCertificate(fixture);
        using var other = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        fixture.Write("tls.key", other.ExportPkcs8PrivateKeyPem());
        fixture.Replace("site.yaml", "login: required", Network);
        Assert.Contains("http.certificate: the certificate cannot be used", Assert.Single(fixture.Problems()), StringComparison.Ordinal);
    }

    [Fact]
    public void A_PKCS_12_file_is_opened_by_its_secret_alone()
    {
        using var fixture = new ConfigurationFixture();
        using var certificate = Certificate("washers.example");
        File.WriteAllBytes(Path.Combine(fixture.Folder, "tls.pfx"), certificate.Export(X509ContentType.Pkcs12, "not-so-secret"));
        fixture.Replace("site.yaml", "login: required", "listen: 192.0.2.5\n  pfx: tls.pfx\n  pfx-secret: {env: TEST_SECRET}");
        Assert.True(fixture.Load().Site!.Http!.IsSecure);

        File.WriteAllBytes(Path.Combine(fixture.Folder, "tls.pfx"), certificate.Export(X509ContentType.Pkcs12, "another"));
        Assert.Contains("http.pfx: the certificate cannot be used", Assert.Single(fixture.Problems()), StringComparison.Ordinal);
    }

    [Fact]
    public void An_identity_provider_has_its_roles_and_defaults()
    {
        using var fixture = new ConfigurationFixture();
        fixture.Replace("site.yaml", "login: required", "login: required\n  open-id-connect: {authority: \"https://login.example/x\", client-id: washbridge, secret: {env: TEST_SECRET}, roles: [{value: g-qa, role: qa}, {value: g-all, role: viewer}]}");
        var provider = fixture.Load().Site!.Http!.OpenIdConnect!;
        Assert.Equal(("roles", "name", "not-so-secret"), (provider.RoleClaim, provider.NameClaim, provider.Secret));
        Assert.Equal(Role.Qa, provider.Roles["g-qa"]);
        Assert.Equal(["profile"], provider.Scopes);
    }

    private static void WriteCertificate(ConfigurationFixture fixture, bool withIssuer = false)
    {
        using var certificate = Certificate("washers.example");
        using var issuer = Certificate("authority.example");
        fixture.Write("tls.pem", certificate.ExportCertificatePem() + "\n" + (withIssuer ? issuer.ExportCertificatePem() + "\n" : ""));
        fixture.Write("tls.key", certificate.GetECDsaPrivateKey()!.ExportPkcs8PrivateKeyPem());
    }

    private static X509Certificate2 Certificate(string name)
    {
        using var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        return new CertificateRequest($"CN={name}", key, HashAlgorithmName.SHA256).CreateSelfSigned(new DateTimeOffset(2025, 1, 1, 0, 0, 0, TimeSpan.Zero), new DateTimeOffset(2045, 1, 1, 0, 0, 0, TimeSpan.Zero));
    }
}
