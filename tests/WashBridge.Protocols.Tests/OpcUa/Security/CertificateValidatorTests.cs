using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.Tests.OpcUa.Security;

/// <summary>Self-signed certificates with one fault each, by the steps of OPC 10000-4, 6.1.3.</summary>
public sealed class CertificateValidatorTests : IDisposable
{
    private readonly Validation validation = new();

    public void Dispose() => validation.Dispose();

    [Fact]
    public void A_trusted_certificate_that_fits_is_accepted()
    {
        var check = validation.Of(validation.Trusted(new Wish()));
        Assert.True(check.IsAccepted);
        Assert.Equal((StatusCodes.Good, StatusCodes.Good), (check.Status, check.StatusForPeer));
        Assert.Empty(check.Allowed);
        check.ThrowIfRefused();
    }

    [Fact]
    public void An_unknown_certificate_is_refused_and_kept_and_trusting_it_as_the_message_says_counts_at_once()
    {
        var der = Authority.SelfSigned(new Wish());
        var check = validation.Of(der);
        var message = Assert.Single(check.Findings).Message;
        Assert.Equal(StatusCodes.BadCertificateUntrusted, check.Status);
        Assert.Equal(StatusCodes.BadSecurityChecksFailed, check.StatusForPeer);

        var kept = Assert.Single(Directory.GetFiles(validation.Store.RejectedFolder));
        Assert.Equal(der, File.ReadAllBytes(kept));
        Assert.Contains(kept, message);
        Assert.Contains(validation.Store.TrustedFolder, message);
        Assert.Contains(Authority.Thumbprint(der), message);
        const string Command = "washbridge certificates trust ";
        var prefix = message[(message.IndexOf(Command, StringComparison.Ordinal) + Command.Length)..];
        validation.Store.Trust(prefix);
        Assert.True(validation.Of(der).IsAccepted);
        Assert.Empty(Directory.GetFiles(validation.Store.RejectedFolder));

        validation.Store.Reject(prefix);
        Assert.Equal(StatusCodes.BadCertificateUntrusted, validation.Of(der).Status);
    }

    [Fact]
    public void The_exception_names_status_and_every_finding()
    {
        var der = Authority.SelfSigned(new Wish { Host = "other" });
        var refused = Assert.Throws<UaException>(() => validation.Of(der).ThrowIfRefused());
        Assert.Equal(StatusCodes.BadCertificateUntrusted, refused.Status);
        Assert.Contains("BadCertificateUntrusted: ", refused.Message);
        Assert.Contains("BadCertificateHostNameInvalid: ", refused.Message);
    }

    [Fact]
    public void A_certificate_that_has_ended_is_refused_unless_that_is_allowed()
    {
        var der = validation.Trusted(new Wish { To = new DateTimeOffset(2026, 5, 31, 23, 59, 0, TimeSpan.Zero) });
        validation.Refuses(der, "BadCertificateTimeInvalid", "ended on 2026-05-31 23:59 UTC; now it is 2026-06-01 00:00 UTC", "allow 'expired'");
        validation.Allows(der, "BadCertificateTimeInvalid", validation.Server with { AllowExpired = true });
    }

    [Fact]
    public void A_certificate_that_is_not_valid_yet_is_refused_until_it_is()
    {
        var der = validation.Trusted(new Wish { From = new DateTimeOffset(2026, 6, 2, 0, 0, 0, TimeSpan.Zero) });
        validation.Refuses(der, "BadCertificateTimeInvalid", "valid only from 2026-06-02");
        validation.Time.Advance(TimeSpan.FromDays(1));
        Assert.True(validation.Of(der).IsAccepted);
    }

    [Fact]
    public void Another_application_uri_is_refused_unless_that_is_allowed()
    {
        var der = validation.Trusted(new Wish { Uri = "urn:washer-3:controller" });
        validation.Refuses(der, "BadCertificateUriInvalid", "'urn:washer-3:controller'", "'urn:washer-2:controller'");
        validation.Allows(der, "BadCertificateUriInvalid", validation.Server with { AllowOtherApplicationUri = true });
        Assert.True(validation.Of(der, validation.Server with { ApplicationUri = null }).IsAccepted);
    }

    [Fact]
    public void A_certificate_without_application_uri_is_refused() =>
        validation.Refuses(validation.Trusted(new Wish { Uri = null }), "BadCertificateUriInvalid", "for the application none");

    [Theory]
    [InlineData("washer-2", true)]
    [InlineData("WASHER-2", true)]
    [InlineData("washer-2.", true)]
    [InlineData("192.0.2.7", true)]
    [InlineData("192.0.2.8", false)]
    [InlineData("washer-3", false)]
    [InlineData("washer-2.evil", false)]
    [InlineData("washer", false)]
    public void The_host_connected_to_must_be_named(string host, bool isNamed)
    {
        var der = validation.Trusted(new Wish());
        var expected = validation.Server with { Host = host };
        if (isNamed)
        {
            Assert.True(validation.Of(der, expected).IsAccepted);
            return;
        }

        validation.Refuses(der, "BadCertificateHostNameInvalid", expected, "'washer-2', '192.0.2.7'", $"'{host}'");
        validation.Allows(der, "BadCertificateHostNameInvalid", expected with { AllowOtherHost = true });
    }

    [Fact]
    public void An_ipv6_address_is_compared_as_an_address_and_a_wildcard_matches_nothing()
    {
        var der = validation.Trusted(new Wish { Address = "2001:db8::7", Host = "*.plant" });
        Assert.True(validation.Of(der, validation.Server with { Host = "[2001:DB8:0::7]" }).IsAccepted);
        validation.Refuses(der, "BadCertificateHostNameInvalid", validation.Server with { Host = "washer-2.plant" });
    }

    [Fact]
    public void A_short_key_is_refused_by_every_policy_but_none()
    {
        using var key = RSA.Create(1024);
        var der = validation.Trusted(new Wish { Key = key });
        foreach (var policy in SecurityPolicy.All.Where(policy => !policy.IsNone))
        {
            validation.Refuses(der, "BadCertificatePolicyCheckFailed", validation.Server with { SecurityPolicy = policy }, "1024 bits", $"{policy.Name} asks for 2048 to 4096");
        }

        Assert.True(validation.Of(der, validation.Server with { SecurityPolicy = SecurityPolicy.None }).IsAccepted);
    }

    /// <summary>The base library does not sign with SHA-1 any more; openssl does.</summary>
    [Fact]
    public void A_signature_by_sha_1_is_refused()
    {
        var der = MadeByOpenSsl("-sha1");
        validation.Put("trusted/certs", der);
        validation.Refuses(der, "BadCertificatePolicyCheckFailed", validation.Server with { AllowExpired = true }, "RSA with SHA-1", "SHA-256 or longer");
    }

    [Fact]
    public void Longer_hashes_and_pss_signatures_are_accepted()
    {
        Assert.True(validation.Of(validation.Trusted(new Wish { Hash = HashAlgorithmName.SHA384 })).IsAccepted);
        Assert.True(validation.Of(validation.Trusted(new Wish { Hash = HashAlgorithmName.SHA512 })).IsAccepted);
        Assert.True(validation.Of(validation.Trusted(new Wish { Padding = RSASignaturePadding.Pss })).IsAccepted);
    }

    [Fact]
    public void A_key_that_is_not_rsa_is_refused()
    {
        using var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        var request = new CertificateRequest("CN=Washer 2", key, HashAlgorithmName.SHA256);
        var check = validation.Of(request.CreateSelfSigned(new Wish().From, new Wish().To).RawData);
        Assert.Contains(check.Findings, finding => finding.Status == StatusCodes.BadCertificatePolicyCheckFailed && finding.Message.Contains("not RSA"));
    }

    [Fact]
    public void A_certificate_that_was_changed_after_signing_is_refused_and_not_kept_for_trusting()
    {
        var der = Authority.SelfSigned(new Wish());
        der[^1] ^= 1;
        var check = validation.Of(der);
        Assert.Equal([StatusCodes.BadCertificateInvalid, StatusCodes.BadCertificateUntrusted], check.Findings.Select(finding => finding.Status));
        Assert.Contains("signature (RSA with SHA-256) that its own key did not make", check.Findings[0].Message);
        Assert.Empty(Directory.GetFiles(validation.Store.RejectedFolder));
    }

    [Fact]
    public void The_certificate_of_an_authority_is_refused_as_an_end_certificate()
    {
        var der = validation.Trusted(new Wish { IsAuthority = true });
        validation.Refuses(der, "BadCertificateUseNotAllowed", "authority", "allow 'other usage'");
        validation.Allows(der, "BadCertificateUseNotAllowed", validation.Server with { AllowOtherUsage = true });
    }

    [Theory]
    [InlineData(X509KeyUsageFlags.DigitalSignature, "KeyEncipherment or DataEncipherment")]
    [InlineData(X509KeyUsageFlags.KeyEncipherment, "DigitalSignature")]
    public void Key_usages_that_do_not_do_are_refused(X509KeyUsageFlags usage, string expected) =>
        validation.Refuses(validation.Trusted(new Wish { Usage = usage }), "BadCertificateUseNotAllowed", $"'{usage}'", expected);

    [Fact]
    public void A_servers_certificate_is_none_for_a_client_and_the_reverse()
    {
        var server = validation.Trusted(new Wish { Extended = ["1.3.6.1.5.5.7.3.1"] });
        Assert.True(validation.Of(server).IsAccepted);
        validation.Refuses(server, "BadCertificateUseNotAllowed", validation.Server with { Purpose = CertificatePurpose.Client }, "client authentication");
        var client = validation.Trusted(new Wish { Extended = ["1.3.6.1.5.5.7.3.2"] });
        validation.Refuses(client, "BadCertificateUseNotAllowed", "server authentication");
        Assert.True(validation.Of(client, validation.Server with { Purpose = CertificatePurpose.Client }).IsAccepted);
    }

    [Fact]
    public void Usages_that_a_certificate_does_not_restrict_are_not_asked_for() =>
        Assert.True(validation.Of(validation.Trusted(new Wish { Usage = null, Extended = null })).IsAccepted);

    [Fact]
    public void A_user_needs_only_to_sign()
    {
        var der = validation.Trusted(new Wish { Usage = X509KeyUsageFlags.DigitalSignature, Extended = ["1.3.6.1.5.5.7.3.4"], Uri = null, Host = null });
        Assert.True(validation.Of(der, new CertificateExpectation { Purpose = CertificatePurpose.User, SecurityPolicy = SecurityPolicy.Basic256Sha256 }).IsAccepted);
    }

    [Fact]
    public void A_critical_extension_that_nobody_knows_is_refused() =>
        validation.Refuses(validation.Trusted(new Wish { CriticalExtension = "1.2.3.4" }), "BadCertificateInvalid", "1.2.3.4");

    [Fact]
    public void What_is_not_a_certificate_is_refused()
    {
        var der = Authority.SelfSigned(new Wish());
        byte[][] faulty = [[], [0], [0x30], "certificate"u8.ToArray(), der[..^1], [.. der, 0], new byte[100_000], [0x30, 0x84, 0x7F, 0xFF, 0xFF, 0xFF], [0x30, 0x00]];
        foreach (var bytes in faulty)
        {
            validation.Refuses(bytes, "BadCertificateInvalid", "cannot be read");
        }

        validation.Refuses([.. Enumerable.Repeat(der, 11).SelectMany(one => one)], "BadCertificateInvalid", "more than 10");
    }

    [Fact]
    public void Any_changed_byte_of_a_trusted_certificate_is_refused_without_an_exception()
    {
        var der = validation.Trusted(new Wish());
        for (var at = 0; at < der.Length; at++)
        {
            var faulty = der.ToArray();
            faulty[at] ^= (byte)(1 << (at % 8));
            Assert.False(validation.Of(faulty).IsAccepted, $"byte {at}");
        }
    }

    [Fact]
    public void A_certificate_made_by_another_implementation_is_accepted()
    {
        var der = MadeByOpenSsl("-sha256", "-sigopt", "rsa_padding_mode:pss", "-sigopt", "rsa_pss_saltlen:32");
        validation.Put("trusted/certs", der);
        Assert.True(validation.Of(der, validation.Server with { AllowExpired = true }).IsAccepted);
    }

    private static byte[] MadeByOpenSsl(params string[] signing)
    {
        using var folder = new TestFolder();
        OpenSsl.Run(
        [
            "req", "-x509", "-newkey", "rsa:2048", "-noenc", "-keyout", folder["key"], "-outform", "DER", "-out", folder["certificate"], "-days", "1", "-subj", "/CN=Washer 2",
            "-addext", "subjectAltName=URI:urn:washer-2:controller,DNS:washer-2", "-addext", "basicConstraints=critical,CA:FALSE", "-addext", "keyUsage=critical,digitalSignature,keyEncipherment", .. signing,
        ]);
        return File.ReadAllBytes(folder["certificate"]);
    }
}
