using System.Net;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.Tests.OpcUa.Security;

/// <summary>The certificate that we make for ourselves (OPC 10000-6, 6.2.2).</summary>
public sealed class ApplicationCertificateTests : IDisposable
{
    private static readonly CertificateRequestData Request = new()
    {
        SubjectName = "CN=WashBridge,O=Brewery",
        ApplicationUri = "urn:Bridge-1:WashBridge",
        DnsNames = ["Bridge-1", "bridge-1.plant.example"],
        IpAddresses = [IPAddress.Parse("192.0.2.9"), IPAddress.Parse("2001:db8::9")],
        Validity = TimeSpan.FromDays(365),
    };

    private readonly FakeTimeProvider time = new(new DateTimeOffset(2026, 6, 1, 12, 0, 0, TimeSpan.Zero));
    private readonly ApplicationCertificate certificate;

    public ApplicationCertificateTests() => certificate = ApplicationCertificate.CreateSelfSigned(Request, time);

    public void Dispose() => certificate.Dispose();

    [Fact]
    public void Another_implementation_reads_every_field_that_the_standard_asks_for()
    {
        using var folder = new TestFolder();
        File.WriteAllBytes(folder["own"], certificate.Der.Span);
        var text = OpenSsl.Run("x509", "-inform", "DER", "-in", folder["own"], "-noout", "-text");
        Assert.Contains("Version: 3 (0x2)", text);
        Assert.Contains("Signature Algorithm: sha256WithRSAEncryption", text);
        Assert.Contains("Public-Key: (2048 bit)", text);
        Assert.Contains("Not Before: May 31 12:00:00 2026 GMT", text);
        Assert.Contains("Not After : Jun  1 12:00:00 2027 GMT", text);
        Assert.Contains("URI:urn:Bridge-1:WashBridge, DNS:Bridge-1, DNS:bridge-1.plant.example, IP Address:192.0.2.9, IP Address:2001:DB8:0:0:0:0:0:9", text);
        Assert.Contains("Digital Signature, Non Repudiation, Key Encipherment, Data Encipherment, Certificate Sign", text);
        Assert.Contains("TLS Web Server Authentication, TLS Web Client Authentication", text);
        Assert.Contains("CA:FALSE", text);
        Assert.Contains("X509v3 Subject Key Identifier", text);
        Assert.Contains("X509v3 Authority Key Identifier", text);
    }

    [Fact]
    public void Another_implementation_verifies_its_signature_and_thumbprint()
    {
        using var folder = new TestFolder();
        File.WriteAllText(folder["own"], certificate.Certificate.ExportCertificatePem());
        Assert.Contains("OK", OpenSsl.Run("verify", "-attime", $"{time.GetUtcNow().ToUnixTimeSeconds()}", "-check_ss_sig", "-CAfile", folder["own"], folder["own"]));
        var fingerprint = OpenSsl.Run("x509", "-in", folder["own"], "-noout", "-fingerprint", "-sha1");
        Assert.Equal(fingerprint.Split('=')[1].Trim().Replace(":", ""), Convert.ToHexString(certificate.Thumbprint));
    }

    [Theory]
    [InlineData(CertificatePurpose.Server)]
    [InlineData(CertificatePurpose.Client)]
    public void Our_own_validator_accepts_it_in_both_roles(CertificatePurpose purpose)
    {
        using var validation = new Validation();
        validation.Put("trusted/certs", certificate.Chain.ToArray());
        foreach (var host in new[] { "bridge-1", "192.0.2.9", "2001:db8::9" })
        {
            var check = validation.Of(
                certificate.Chain.ToArray(),
                new CertificateExpectation { Purpose = purpose, SecurityPolicy = SecurityPolicy.Aes256Sha256RsaPss, ApplicationUri = certificate.ApplicationUri, Host = host });
            Assert.Equal([], check.Findings);
        }
    }

    [Fact]
    public void The_private_key_stays_apart_from_the_certificate()
    {
        Assert.False(certificate.Certificate.HasPrivateKey);
        Assert.Equal(certificate.Der.ToArray(), certificate.Chain.ToArray());
        Assert.True(SecurityPolicy.Basic256Sha256.Verify(CertificateChain.LeafPublicKey(certificate.Chain), [1, 2], SecurityPolicy.Basic256Sha256.Sign(certificate.PrivateKey, [1, 2])));
    }

    [Fact]
    public void Thirty_days_before_its_end_a_hint_says_what_to_do()
    {
        time.SetUtcNow(new DateTimeOffset(2027, 5, 2, 11, 59, 0, TimeSpan.Zero));
        Assert.Empty(certificate.Hints(Request, time));
        time.Advance(TimeSpan.FromMinutes(2));
        Assert.Contains("ends on 2027-06-01", Assert.Single(certificate.Hints(Request, time)));
        time.Advance(TimeSpan.FromDays(31));
        Assert.Contains("ended on 2027-06-01", Assert.Single(certificate.Hints(Request, time)));
    }

    [Fact]
    public void A_configuration_that_has_changed_since_is_hinted_at()
    {
        var hints = certificate.Hints(Request with { ApplicationUri = "urn:other", DnsNames = ["Bridge-1", "new-name"] }, time);
        Assert.Contains(hints, hint => hint.Contains("'urn:other'") && hint.Contains("'urn:Bridge-1:WashBridge'"));
        Assert.Contains(hints, hint => hint.Contains("does not name new-name"));
    }

    public static TheoryData<string, CertificateRequestData> Faulty => new()
    {
        { "SubjectName", Request with { SubjectName = "O=Brewery" } },
        { "SubjectName", Request with { SubjectName = "CN=WashBridge, successor" } },
        { "ApplicationUri", Request with { ApplicationUri = "bridge" } },
        { "ApplicationUri", Request with { ApplicationUri = "urn:brüwery" } },
        { "DnsNames", Request with { DnsNames = [], IpAddresses = [] } },
        { "DnsNames", Request with { DnsNames = [""] } },
        { "KeyBits", Request with { KeyBits = 1024 } },
        { "KeyBits", Request with { KeyBits = 8192 } },
        { "Validity", Request with { Validity = TimeSpan.Zero } },
        { "Validity", Request with { Validity = TimeSpan.FromDays(20_000) } },
    };

    [Theory]
    [MemberData(nameof(Faulty))]
    public void A_request_that_makes_no_usable_certificate_is_refused(string field, CertificateRequestData request)
    {
        var refused = Assert.Throws<ArgumentOutOfRangeException>(() => ApplicationCertificate.CreateSelfSigned(request, time));
        Assert.Equal(field, refused.ParamName);
        Assert.Contains("allowed: ", refused.Message);
    }

    [Fact]
    public void A_longer_key_is_made_if_asked_for()
    {
        using var longer = ApplicationCertificate.CreateSelfSigned(Request with { KeyBits = 3072 }, time);
        Assert.Equal(384, SecurityPolicy.Basic256Sha256.CipherBlockBytes(longer.PrivateKey));
    }
}
