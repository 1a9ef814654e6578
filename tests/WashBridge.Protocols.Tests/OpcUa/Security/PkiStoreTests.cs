using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.Tests.OpcUa.Security;

/// <summary>Listing, trusting and rejecting.</summary>
public sealed class PkiStoreTests : IDisposable
{
    private readonly Validation validation = new();

    public void Dispose() => validation.Dispose();

    private PkiStore Store => validation.Store;

    [Fact]
    public void The_usual_folders_are_made() =>
        Assert.All(
            ["own/certs", "own/private", "trusted/certs", "trusted/crl", "issuers/certs", "issuers/crl", "rejected/certs"],
            folder => Assert.True(Directory.Exists(Path.Combine(Store.Root, folder)), folder));

    [Fact]
    public void A_store_that_cannot_be_made_is_an_error()
    {
        using var folder = new TestFolder();
        File.WriteAllText(folder["file"], "");
        Assert.Contains(folder["file"], Assert.Throws<PkiException>(() => PkiStore.Open(folder["file"])).Message);
    }

    [Fact]
    public void The_list_tells_what_lies_where_and_what_is_wrong_with_it()
    {
        var good = validation.Trusted(new Wish());
        var ended = Authority.SelfSigned(new Wish { Subject = "CN=Old", To = new DateTimeOffset(2026, 2, 1, 0, 0, 0, TimeSpan.Zero) });
        var root = Authority.Root();
        Store.SaveRejected(ended);
        validation.Put("issuers/certs", root.Der);
        var trusted = Assert.Single(Store.List(), stored => stored.State == StoredState.Trusted);
        Assert.Equal(Authority.Thumbprint(good), trusted.Thumbprint);
        Assert.Equal(("O=Brewery, CN=Washer 2", "urn:washer-2:controller"), (string.Join(", ", trusted.Subject.Split(", ").Order().Reverse()), trusted.ApplicationUri));
        Assert.Equal((new Wish().From, new Wish().To), (trusted.NotBefore, trusted.NotAfter));
        Assert.Equal(good, File.ReadAllBytes(trusted.File));
        Assert.Empty(trusted.Problems);
        Assert.Equal(["ended on 2026-02-01"], Assert.Single(Store.List(), stored => stored.State == StoredState.Rejected).Problems);
        Assert.Equal("CN=Plant authority", Assert.Single(Store.List(), stored => stored.State == StoredState.Issuer).Subject);
    }

    [Fact]
    public void Files_that_cannot_be_used_are_listed_and_harm_nothing_else()
    {
        var good = validation.Trusted(new Wish());
        validation.Put("trusted/certs", "not a certificate"u8.ToArray());
        validation.Put("trusted/certs", []);
        validation.Put("trusted/certs", new byte[200_000]);
        validation.Put("trusted/certs", good[..200]);
        validation.Put("issuers/crl", "not a list"u8.ToArray());
        validation.Put("trusted/crl", good);
        var faulty = Store.List().Where(stored => stored.Thumbprint.Length == 0).ToList();
        Assert.Equal(6, faulty.Count);
        Assert.All(faulty, stored => Assert.NotEmpty(Assert.Single(stored.Problems)));
        Assert.True(validation.Of(good).IsAccepted);
    }

    [Fact]
    public void Certificates_and_lists_may_be_in_pem_form()
    {
        var root = Authority.Root();
        validation.Put("trusted/certs", System.Text.Encoding.ASCII.GetBytes(root.Certificate.ExportCertificatePem()));
        var pem = new string(System.Security.Cryptography.PemEncoding.Write("X509 CRL", root.List()));
        validation.Put("trusted/crl", System.Text.Encoding.ASCII.GetBytes(pem));
        Assert.True(validation.Of(root.Issue(new Wish())).IsAccepted);
        validation.Put("trusted/certs", System.Text.Encoding.ASCII.GetBytes(pem));
        Assert.Contains(Store.List(), stored => stored.Problems.Any(problem => problem.Contains("PEM block of kind CERTIFICATE")));
    }

    [Theory]
    [InlineData(40)]
    [InlineData(8)]
    [InlineData(4)]
    public void A_certificate_is_trusted_by_the_beginning_of_its_thumbprint(int digits)
    {
        var der = Authority.SelfSigned(new Wish());
        Store.SaveRejected(der);
        var trusted = Store.Trust(Authority.Thumbprint(der)[..digits]);
        Assert.Equal((StoredState.Trusted, Authority.Thumbprint(der)), (trusted.State, trusted.Thumbprint));
        Assert.Equal(der, File.ReadAllBytes(trusted.File));
        Assert.Equal(Path.Combine(Store.TrustedFolder, $"Washer-2-{Authority.Thumbprint(der)}.der"), trusted.File);
        Assert.Single(Store.List());
        Assert.Equal(trusted.File, Store.Trust(Authority.Thumbprint(der)).File);
    }

    [Fact]
    public void Thumbprints_are_taken_as_other_programs_write_them()
    {
        var der = Authority.SelfSigned(new Wish());
        Store.SaveRejected(der);
        var written = string.Join(':', Authority.Thumbprint(der).ToLowerInvariant().Chunk(2).Select(pair => new string(pair)));
        Assert.Equal(Authority.Thumbprint(der), Store.Trust(" " + written).Thumbprint);
    }

    [Theory]
    [InlineData("")]
    [InlineData("ABC")]
    [InlineData("washer-2")]
    [InlineData("0123456789012345678901234567890123456789F")]
    public void What_is_not_a_thumbprint_is_refused(string text) =>
        Assert.Contains("4 to 40 hexadecimal digits", Assert.Throws<PkiException>(() => Store.Trust(text)).Message);

    [Fact]
    public void An_unknown_thumbprint_is_an_error()
    {
        Store.SaveRejected(Authority.SelfSigned(new Wish()));
        Assert.Contains("no certificate in", Assert.Throws<PkiException>(() => Store.Trust(new string('0', 40))).Message);
    }

    [Fact]
    public void An_ambiguous_beginning_is_an_error_that_lists_what_it_could_mean()
    {
        // Some 300 of them are enough that two begin with the same four digits more often than not; the serial number makes each another one.
        var root = Authority.Root();
        Dictionary<string, byte[]> seen = [];
        byte[]? twin = null;
        for (var i = 0; twin is null; i++)
        {
            var der = root.Issue(new Wish { Subject = $"CN=Washer {i}" });
            twin = seen.TryGetValue(Authority.Thumbprint(der)[..4], out var first) ? first : null;
            seen[Authority.Thumbprint(der)[..4]] = der;
            if (twin is not null)
            {
                Store.SaveRejected(twin);
                Store.SaveRejected(der);
                var refused = Assert.Throws<PkiException>(() => Store.Trust(Authority.Thumbprint(der)[..4]));
                Assert.Contains("give more digits", refused.Message);
                Assert.Contains(Authority.Thumbprint(der), refused.Message);
                Assert.Contains(Authority.Thumbprint(twin), refused.Message);
                Assert.Equal(2, Directory.GetFiles(Store.RejectedFolder).Length);
            }
        }
    }

    [Fact]
    public void Rejecting_takes_trust_away_and_nothing_else()
    {
        var (der, other) = (validation.Trusted(new Wish()), validation.Trusted(new Wish { Subject = "CN=Other" }));
        Assert.Equal(StoredState.Rejected, Store.Reject(Authority.Thumbprint(der)).State);
        Assert.False(validation.Of(der).IsAccepted);
        Assert.True(validation.Of(other).IsAccepted);
    }

    [Fact]
    public void An_issuer_can_be_trusted()
    {
        var root = Authority.Root();
        validation.Put("issuers/certs", root.Der);
        validation.Put("issuers/crl", root.List());
        Store.Trust(Authority.Thumbprint(root.Der));
        Assert.Empty(Directory.GetFiles(Store.IssuersFolder));
        Assert.True(validation.Of(root.Issue(new Wish())).IsAccepted);
    }

    [Fact]
    public void Our_own_certificate_is_neither_trusted_nor_rejected()
    {
        using var own = Store.LoadOrCreateOwn(new CertificateRequestData { SubjectName = "CN=WashBridge", ApplicationUri = "urn:bridge", DnsNames = ["bridge"] }, validation.Time);
        Assert.Contains("our own", Assert.Throws<PkiException>(() => Store.Reject(Convert.ToHexString(own.Thumbprint))).Message);
    }

    [Fact]
    public void Strangers_cannot_fill_the_disk_and_the_oldest_go_first()
    {
        var root = Authority.Root();
        string? first = null;
        for (var i = 0; i < PkiStore.MaxRejected + 3; i++)
        {
            var file = Store.SaveRejected(root.Issue(new Wish { Subject = $"CN=Stranger {i}" }))!;
            first ??= file;
            File.SetLastWriteTimeUtc(file, new DateTime(2026, 6, 1, 0, 0, 0, DateTimeKind.Utc).AddMinutes(i));
        }

        Assert.Equal(PkiStore.MaxRejected, Directory.GetFiles(Store.RejectedFolder).Length);
        Assert.False(File.Exists(first));
        Assert.Contains(Directory.GetFiles(Store.RejectedFolder), file => file.Contains($"Stranger-{PkiStore.MaxRejected + 2}-"));
    }

    [Fact]
    public void Strangers_cannot_keep_the_disk_busy()
    {
        var root = Authority.Root();
        byte[] Stranger(int number) => root.Issue(new Wish { Subject = $"CN=Stranger {number}" });
        for (var i = 0; i < PkiStore.MaxRejectedPerHour; i++)
        {
            Assert.NotNull(Store.SaveRejected(Stranger(i)));
        }

        var late = Stranger(1000);
        Assert.Null(Store.SaveRejected(late));
        var check = validation.Of([.. late, .. root.Der]);
        Assert.DoesNotContain("kept as", check.Findings[0].Message);
        validation.Time.Advance(TimeSpan.FromHours(1));
        Assert.NotNull(Store.SaveRejected(late));
    }

    [Fact]
    public void The_same_stranger_is_kept_once_and_what_is_no_certificate_not_at_all()
    {
        var der = Authority.SelfSigned(new Wish { Subject = "CN=../../..\\evil\0name" });
        Assert.Equal(Store.SaveRejected(der), Store.SaveRejected(der));
        var file = Assert.Single(Directory.GetFiles(Store.RejectedFolder));
        Assert.Equal(Store.RejectedFolder, Path.GetDirectoryName(Path.GetFullPath(file)));
        Assert.Null(Store.SaveRejected(new byte[] { 1, 2, 3 }));
    }

    [Fact]
    public void A_file_that_is_replaced_or_removed_counts_at_once()
    {
        var (first, second) = (Authority.SelfSigned(new Wish()), Authority.SelfSigned(new Wish { Subject = "CN=Washer 2 successor" }));
        var file = Path.Combine(Store.TrustedFolder, "washer.der");
        File.WriteAllBytes(file, first);
        Assert.True(validation.Of(first).IsAccepted);
        File.WriteAllBytes(file, second);
        Assert.False(validation.Of(first).IsAccepted);
        Assert.True(validation.Of(second).IsAccepted);
        File.Delete(file);
        Assert.False(validation.Of(second).IsAccepted);
    }
}
