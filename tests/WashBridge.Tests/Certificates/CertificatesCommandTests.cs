using System.CommandLine;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Commands;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Tests.Configuration;

namespace WashBridge.Tests.Certificates;

/// <summary>The certificates command as a person uses it.</summary>
public sealed class CertificatesCommandTests : IDisposable
{
    private readonly ConfigurationFixture fixture = new("GoodOpcUa");
    private readonly FakeTimeProvider time = new(new DateTimeOffset(2030, 5, 1, 12, 0, 0, TimeSpan.Zero));
    private readonly PkiStore store;

    public CertificatesCommandTests() => store = PkiStore.Open(Path.Combine(fixture.Folder, "certificates"), time);

    private string Site => Path.Combine(fixture.Folder, "site.yaml");

    public void Dispose() => fixture.Dispose();

    [Fact]
    public void The_first_list_makes_our_own_certificate_and_says_what_to_do_with_it()
    {
        var (code, output) = Run("list", Site);
        Assert.Equal(ExitCodes.Success, code);
        var file = Path.Combine(store.Root, "own/certs/application.der");
        using var own = X509CertificateLoader.LoadCertificateFromFile(file);
        Assert.Matches($@"own +CN=Bridge of the test site +urn:example:bridge +2030-04-30 to 2035-[0-9-]+ +{own.Thumbprint}\n", output);
        Assert.Contains($"give {file} to whoever looks after them", output, StringComparison.Ordinal);
        Assert.DoesNotContain("problem", output, StringComparison.Ordinal);
    }

    [Fact]
    public void A_rejected_certificate_is_listed_with_the_command_that_trusts_it()
    {
        var peer = Peer("urn:example:washer-3");
        store.SaveRejected(peer.Der);
        var (_, output) = Run("list", Site);
        Assert.Matches($@"rejected +CN=Washer 3 +urn:example:washer-3 +2030-04-30 to 2030-05-31 +{peer.Certificate.Thumbprint}\n", output);
        Assert.Contains($"washbridge certificates trust {Site} {peer.Certificate.Thumbprint[..8]}\n", output, StringComparison.Ordinal);
    }

    [Fact]
    public void Trusting_moves_a_certificate_and_tells_what_follows_and_how_to_undo_it()
    {
        var peer = Peer("urn:example:washer-3");
        store.SaveRejected(peer.Der);
        var (code, output) = Run("trust", Site, peer.Certificate.Thumbprint[..4].ToLowerInvariant());
        Assert.Equal(ExitCodes.Success, code);
        Assert.StartsWith("Trusted: CN=Washer 3\n", output, StringComparison.Ordinal);
        Assert.Contains(peer.Certificate.Thumbprint, output, StringComparison.Ordinal);
        Assert.Contains("a client that shows it may connect to our server", output, StringComparison.Ordinal);
        Assert.Contains($"washbridge certificates reject {Site} {peer.Certificate.Thumbprint[..8]}\n", output, StringComparison.Ordinal);
        Assert.Equal(StoredState.Trusted, Assert.Single(store.List(), c => c.Thumbprint == peer.Certificate.Thumbprint).State);
        Assert.Contains("is trusted already; nothing has changed", Run("trust", Site, peer.Certificate.Thumbprint).Output, StringComparison.Ordinal);
    }

    [Fact]
    public void Trusting_an_expired_certificate_says_that_it_is_refused_all_the_same()
    {
        var peer = Peer("urn:example:washer-3");
        store.SaveRejected(peer.Der);
        time.Advance(TimeSpan.FromDays(60));
        Assert.Contains("It is still refused, because it ended on 2030-05-31", Run("trust", Site, peer.Certificate.Thumbprint).Output, StringComparison.Ordinal);
    }

    [Fact]
    public void Rejecting_moves_a_certificate_back()
    {
        var peer = Peer("urn:example:washer-3");
        store.SaveRejected(peer.Der);
        store.Trust(peer.Certificate.Thumbprint);
        var (code, output) = Run("reject", Site, peer.Certificate.Thumbprint);
        Assert.Equal(ExitCodes.Success, code);
        Assert.StartsWith("Rejected: CN=Washer 3\n", output, StringComparison.Ordinal);
        Assert.Contains("New connections with this certificate are refused from now on", output, StringComparison.Ordinal);
        Assert.Equal(StoredState.Rejected, Assert.Single(store.List(), c => c.Thumbprint == peer.Certificate.Thumbprint).State);
    }

    [Fact]
    public void Show_prints_what_a_person_compares()
    {
        var peer = Peer("urn:example:washer-3");
        var file = store.SaveRejected(peer.Der)!;
        var (code, output) = Run("show", Site, peer.Certificate.Thumbprint[..6]);
        Assert.Equal(ExitCodes.Success, code);
        foreach (var expected in new[] { "rejected: CN=Washer 3", "urn:example:washer-3", "washer3.example, 192.0.2.3", "RSA, 2048 bits", peer.Certificate.Thumbprint, file, peer.Certificate.SerialNumber })
        {
            Assert.Contains(expected, output, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void Show_without_a_thumbprint_shows_our_own() => Assert.StartsWith("own: CN=Bridge of the test site\n", Run("show", Site).Output, StringComparison.Ordinal);

    [Theory]
    [InlineData("abc", "\"abc\" is not a thumbprint or the beginning of one; allowed: 4 to 40 hexadecimal digits.")]
    [InlineData("wxyz", "\"wxyz\" is not a thumbprint or the beginning of one; allowed: 4 to 40 hexadecimal digits.")]
    public void What_is_no_thumbprint_is_refused(string prefix, string expected)
    {
        foreach (var command in new[] { "trust", "show" })
        {
            Assert.Equal((ExitCodes.ConfigurationErrors, expected + "\n"), Run(command, Site, prefix));
        }
    }

    [Fact]
    public void An_unknown_thumbprint_is_refused_with_those_that_there_are()
    {
        var peer = Peer("urn:example:washer-3");
        store.SaveRejected(peer.Der);
        var unknown = peer.Certificate.Thumbprint[0] == '0' ? "1111" : "0000";
        var (code, output) = Run("trust", Site, unknown);
        Assert.Equal(ExitCodes.ConfigurationErrors, code);
        Assert.Equal($"No certificate in {store.Root} has a thumbprint that begins with {unknown}; there are: {peer.Certificate.Thumbprint} (rejected, CN=Washer 3).\n", output);
        Assert.Equal(ExitCodes.ConfigurationErrors, Run("reject", Site, unknown).Code);
    }

    [Fact]
    public void A_prefix_of_several_thumbprints_is_refused_and_nothing_is_moved()
    {
        // One key, other serial numbers, until two of them have the first four digits in common.
        using var key = RSA.Create(2048);
        var request = new CertificateRequest("CN=Washer", key, HashAlgorithmName.SHA256, RSASignaturePadding.Pkcs1);
        var seen = new Dictionary<string, byte[]>();
        byte[] one, other;
        do
        {
            using var certificate = request.CreateSelfSigned(time.GetUtcNow(), time.GetUtcNow().AddDays(30));
            (one, other) = (certificate.RawData, seen.GetValueOrDefault(certificate.Thumbprint[..4], []));
            seen[certificate.Thumbprint[..4]] = one;
        }
        while (other.Length == 0);

        store.SaveRejected(one);
        store.SaveRejected(other);
        var prefix = Thumbprint(one)[..4];
        foreach (var command in new[] { "trust", "reject", "show" })
        {
            var (code, output) = Run(command, Site, prefix);
            Assert.Equal(ExitCodes.ConfigurationErrors, code);
            Assert.Contains("give more digits", output, StringComparison.Ordinal);
            Assert.Contains(Thumbprint(one), output, StringComparison.Ordinal);
            Assert.Contains(Thumbprint(other), output, StringComparison.Ordinal);
        }

        Assert.All(store.List(), c => Assert.NotEqual(StoredState.Trusted, c.State));
    }

    [Fact]
    public void Our_own_certificate_cannot_be_rejected()
    {
        Run("list", Site);
        var own = store.List().Single(c => c.State == StoredState.Own).Thumbprint;
        var (code, output) = Run("reject", Site, own);
        Assert.Equal(ExitCodes.ConfigurationErrors, code);
        Assert.Contains("is our own certificate", output, StringComparison.Ordinal);
    }

    [Fact]
    public void A_thumbprint_without_a_site_is_answered_with_the_whole_command()
    {
        Assert.Equal((ExitCodes.ConfigurationErrors, "trust needs the site file and the beginning of a thumbprint; found 4F2A91C0 alone; allowed: washbridge certificates trust SITE 4F2A91C0\n"), Run("trust", "4F2A91C0"));
        Assert.Equal((ExitCodes.ConfigurationErrors, $"reject needs the site file and the beginning of a thumbprint; found {Site} alone; allowed: washbridge certificates reject {Site} THUMBPRINT\n"), Run("reject", Site));
    }

    [Fact]
    public void A_site_with_problems_is_refused_as_everywhere()
    {
        fixture.Replace("site.yaml", "port: 4841", "port: 0");
        var (code, output) = Run("list", Site);
        Assert.Equal(ExitCodes.ConfigurationErrors, code);
        Assert.Contains("opc-ua.server.port: this number is out of range", output, StringComparison.Ordinal);
    }

    [Fact]
    public void A_file_that_is_no_certificate_is_listed_with_its_problem()
    {
        File.WriteAllText(Path.Combine(store.TrustedFolder, "notes.txt"), "not a certificate");
        Assert.Matches(@"problem: trusted .*notes\.txt: cannot be used", Run("list", Site).Output);
    }

    [Fact]
    public void A_key_that_others_can_read_is_refused()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "file modes are those of Unix");
        Run("list", Site);
        if (OperatingSystem.IsWindows())
        {
            return;
        }

        File.SetUnixFileMode(Path.Combine(store.Root, "own/private/application.pem"), UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.OtherRead);
        var (code, output) = Run("list", Site);
        Assert.Equal(ExitCodes.ConfigurationErrors, code);
        Assert.Contains("others may have read", output, StringComparison.Ordinal);
    }

    private static string Thumbprint(byte[] der)
    {
        using var certificate = X509CertificateLoader.LoadCertificate(der);
        return certificate.Thumbprint;
    }

    private ApplicationCertificate Peer(string uri) => ApplicationCertificate.CreateSelfSigned(
        new CertificateRequestData { SubjectName = "CN=Washer 3", ApplicationUri = uri, DnsNames = ["washer3.example"], IpAddresses = [System.Net.IPAddress.Parse("192.0.2.3")], Validity = TimeSpan.FromDays(30) },
        time);

    private (int Code, string Output) Run(params string[] arguments)
    {
        var writer = new StringWriter { NewLine = "\n" };
        var code = CertificatesCommand.Create(time).Parse(arguments).Invoke(new InvocationConfiguration { Output = writer, Error = writer });
        return (code, writer.ToString());
    }
}
