using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.Tests.OpcUa.Security;

/// <summary>Certificates that an authority has issued: chains, trust through issuers, revocation (OPC 10000-4, 6.1.3; OPC 10000-6, 6.2.6).</summary>
public sealed class CertificateChainTests : IDisposable
{
    private static readonly Wish MiddleWish = Authority.RootWish with { Subject = "CN=Line authority", Key = Keys.Second };

    private readonly Validation validation = new();
    private readonly Authority root = Authority.Root();

    public void Dispose() => validation.Dispose();

    [Fact]
    public void What_a_trusted_authority_issued_and_did_not_revoke_is_accepted()
    {
        validation.Put("trusted/certs", root.Der);
        validation.Put("trusted/crl", root.List());
        Assert.True(validation.Of(root.Issue(new Wish())).IsAccepted);
    }

    [Fact]
    public void A_revoked_certificate_is_refused_even_if_it_is_trusted_by_itself()
    {
        var der = root.Issue(new Wish());
        var other = root.Issue(new Wish());
        validation.Put("trusted/certs", root.Der);
        validation.Put("trusted/crl", root.List(revoked: [der]));
        validation.Refuses(der, "BadCertificateRevoked", "revoked by its issuer 'CN=Plant authority'");
        Assert.True(validation.Of(other).IsAccepted);
        validation.Put("trusted/certs", der);
        validation.Refuses(der, "BadCertificateRevoked", validation.Server with { AllowUnknownRevocation = true });
    }

    [Fact]
    public void An_authority_without_a_revocation_list_does_not_do_unless_that_is_allowed()
    {
        var der = root.Issue(new Wish());
        validation.Put("trusted/certs", root.Der);
        validation.Refuses(der, "BadCertificateRevocationUnknown", "no revocation list", Path.Combine("trusted", "crl"), "allow 'unknown revocation'");
        validation.Allows(der, "BadCertificateRevocationUnknown", validation.Server with { AllowUnknownRevocation = true });
    }

    [Fact]
    public void A_list_that_is_out_of_date_says_who_was_revoked_but_not_who_is_still_good()
    {
        var (revoked, other) = (root.Issue(new Wish()), root.Issue(new Wish()));
        validation.Put("trusted/certs", root.Der);
        validation.Put("trusted/crl", root.List(new DateTimeOffset(2026, 5, 15, 0, 0, 0, TimeSpan.Zero), revoked));
        validation.Refuses(revoked, "BadCertificateRevoked");
        validation.Refuses(other, "BadCertificateRevocationUnknown", "since 2026-05-15");
    }

    [Fact]
    public void A_list_that_the_authority_did_not_sign_counts_for_nothing()
    {
        var der = root.Issue(new Wish());
        var impostor = Authority.Root(Authority.RootWish with { Key = Keys.Second });
        validation.Put("trusted/certs", root.Der);
        validation.Put("trusted/crl", impostor.List(revoked: [der]));
        validation.Refuses(der, "BadCertificateRevocationUnknown");
    }

    [Fact]
    public void A_certificate_trusted_by_itself_needs_no_revocation_list()
    {
        var der = root.Issue(new Wish());
        validation.Put("trusted/certs", der);
        validation.Put("issuers/certs", root.Der);
        validation.Allows(der, "BadCertificateRevocationUnknown", validation.Server);
    }

    [Fact]
    public void An_issuer_that_only_completes_chains_makes_nothing_trusted()
    {
        validation.Put("issuers/certs", root.Der);
        validation.Put("issuers/crl", root.List());
        validation.Refuses(root.Issue(new Wish()), "BadCertificateUntrusted");
    }

    [Fact]
    public void An_authority_that_the_peer_brings_along_is_not_trusted_for_that()
    {
        validation.Put("issuers/crl", root.List());
        validation.Refuses([.. root.Issue(new Wish()), .. root.Der], "BadCertificateUntrusted");
    }

    [Fact]
    public void A_missing_issuer_makes_the_chain_incomplete_even_if_the_certificate_is_trusted()
    {
        var der = root.Issue(new Wish());
        validation.Put("trusted/certs", der);
        validation.Refuses(der, "BadCertificateChainIncomplete", "'CN=Plant authority'", validation.Store.IssuersFolder);
        Assert.True(validation.Of([.. der, .. root.Der]).IsAccepted);
    }

    [Fact]
    public void Authorities_between_may_come_from_the_peer_or_from_the_store()
    {
        var middle = root.Subordinate(MiddleWish);
        var der = middle.Issue(new Wish());
        validation.Put("trusted/certs", root.Der);
        validation.Put("trusted/crl", root.List());
        validation.Put("issuers/crl", middle.List());
        Assert.Equal([StatusCodes.BadCertificateChainIncomplete, StatusCodes.BadCertificateUntrusted], validation.Of(der).Findings.Select(finding => finding.Status));
        Assert.True(validation.Of([.. der, .. middle.Der]).IsAccepted);
        Assert.True(validation.Of([.. der, .. middle.Der, .. root.Der]).IsAccepted);
        validation.Put("issuers/certs", middle.Der);
        Assert.True(validation.Of(der).IsAccepted);
    }

    [Fact]
    public void A_revoked_or_unlisted_authority_between_is_told_apart_from_the_certificate()
    {
        var middle = root.Subordinate(MiddleWish);
        byte[] chain = [.. middle.Issue(new Wish()), .. middle.Der];
        validation.Put("trusted/certs", root.Der);
        validation.Put("issuers/crl", middle.List());
        validation.Refuses(chain, "BadCertificateIssuerRevocationUnknown", "'CN=Line authority'");
        validation.Put("trusted/crl", root.List(revoked: [middle.Der]));
        validation.Refuses(chain, "BadCertificateIssuerRevoked", "'CN=Line authority'");
    }

    [Fact]
    public void An_authority_that_has_ended_is_told_apart_from_the_certificate()
    {
        var old = Authority.Root(Authority.RootWish with { To = new DateTimeOffset(2026, 5, 20, 0, 0, 0, TimeSpan.Zero) });
        var der = old.Issue(new Wish());
        validation.Put("trusted/certs", old.Der);
        validation.Put("trusted/crl", old.List());
        validation.Refuses(der, "BadCertificateIssuerTimeInvalid", "'CN=Plant authority'", "ended on 2026-05-20");
        validation.Allows(der, "BadCertificateIssuerTimeInvalid", validation.Server with { AllowExpired = true });
    }

    [Fact]
    public void An_end_certificate_cannot_issue_others_whatever_is_allowed()
    {
        var notAuthority = Authority.Root(new Wish { Key = Keys.Second, Usage = null });
        var der = notAuthority.Issue(new Wish { Subject = "CN=Forged" });
        validation.Put("trusted/certs", notAuthority.Der);
        var check = validation.Of(der, validation.Server with { AllowOtherUsage = true, AllowUnknownRevocation = true });
        Assert.Equal(StatusCodes.BadCertificateIssuerUseNotAllowed, check.Status);
        Assert.Contains("must not issue", check.Findings[0].Message);
    }

    [Fact]
    public void The_key_usage_and_path_length_of_an_authority_are_kept_to()
    {
        var signing = Authority.Root(Authority.RootWish with { Usage = X509KeyUsageFlags.CrlSign });
        validation.Put("trusted/certs", signing.Der);
        validation.Put("trusted/crl", signing.List());
        validation.Refuses(signing.Issue(new Wish()), "BadCertificateIssuerUseNotAllowed", "without KeyCertSign");

        var narrow = Authority.Root(Authority.RootWish with { Subject = "CN=Narrow", PathLength = 0 });
        var middle = narrow.Subordinate(MiddleWish);
        validation.Put("trusted/certs", narrow.Der);
        validation.Put("trusted/crl", narrow.List());
        validation.Put("trusted/crl", middle.List());
        validation.Refuses([.. middle.Issue(new Wish()), .. middle.Der], "BadCertificateIssuerUseNotAllowed", "path length allows 0");
        Assert.True(validation.Of(narrow.Issue(new Wish())).IsAccepted);
    }

    [Fact]
    public void A_signature_that_the_named_issuer_did_not_make_is_a_forgery()
    {
        var impostor = Authority.Root(Authority.RootWish with { Key = Keys.Second });
        validation.Put("trusted/certs", root.Der);
        validation.Put("trusted/crl", root.List());
        var check = validation.Of(impostor.Issue(new Wish()));
        Assert.Equal([StatusCodes.BadCertificateInvalid, StatusCodes.BadCertificateUntrusted], check.Findings.Select(finding => finding.Status));
        Assert.Contains("the key of 'CN=Plant authority'", check.Findings[0].Message);
    }

    [Fact]
    public void An_authority_that_renewed_its_key_is_found_by_the_signature()
    {
        var renewed = Authority.Root(Authority.RootWish with { Key = Keys.Second });
        foreach (var authority in new[] { root, renewed })
        {
            validation.Put("trusted/certs", authority.Der);
            validation.Put("trusted/crl", authority.List());
        }

        Assert.True(validation.Of(root.Issue(new Wish())).IsAccepted);
        Assert.True(validation.Of(renewed.Issue(new Wish())).IsAccepted);
    }

    [Fact]
    public void A_weak_authority_is_refused_by_the_policy()
    {
        using var key = RSA.Create(1024);
        var weak = Authority.Root(Authority.RootWish with { Key = key });
        validation.Put("trusted/certs", weak.Der);
        validation.Put("trusted/crl", weak.List());
        validation.Refuses(weak.Issue(new Wish()), "BadCertificatePolicyCheckFailed", "'CN=Plant authority'", "1024 bits");
    }

    [Fact]
    public void A_chain_longer_than_anybody_has_ends_without_harm()
    {
        var last = root;
        List<byte[]> authorities = [root.Der];
        for (var i = 0; i < 12; i++)
        {
            last = last.Subordinate(MiddleWish with { Subject = $"CN=Authority {i}" });
            authorities.Add(last.Der);
        }

        foreach (var authority in authorities)
        {
            validation.Put("trusted/certs", authority);
        }

        Assert.Equal(StatusCodes.BadCertificateChainIncomplete, validation.Of(last.Issue(new Wish())).Status);
    }

    [Fact]
    public void Chains_are_split_where_each_certificate_ends()
    {
        var der = root.Issue(new Wish());
        byte[] chain = [.. der, .. root.Der];
        Assert.Equal([der, root.Der], CertificateChain.Split(chain).Select(part => part.ToArray()));
        Assert.Equal(Authority.Thumbprint(der), Convert.ToHexString(CertificateChain.LeafThumbprint(chain)));
        using var key = CertificateChain.LeafPublicKey(chain);
        Assert.Equal(Keys.First.ExportRSAPublicKey(), key.ExportRSAPublicKey());
        var refused = Assert.Throws<UaException>(() => CertificateChain.Leaf(new byte[] { 0x30, 0x05, 1 }));
        Assert.Equal(StatusCodes.BadCertificateInvalid, refused.Status);
    }
}
