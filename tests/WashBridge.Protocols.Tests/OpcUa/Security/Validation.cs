using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.Tests.OpcUa.Security;

/// <summary>A store and a validator on 1 June 2026.</summary>
internal sealed class Validation : IDisposable
{
    private readonly TestFolder folder = new();
    private readonly CertificateValidator validator;

    public Validation()
    {
        Store = PkiStore.Open(folder["pki"], Time);
        validator = new CertificateValidator(Store, Time);
    }

    public FakeTimeProvider Time { get; } = new(new DateTimeOffset(2026, 6, 1, 0, 0, 0, TimeSpan.Zero));

    public PkiStore Store { get; }

    public CertificateExpectation Server { get; } = new()
    {
        Purpose = CertificatePurpose.Server,
        SecurityPolicy = SecurityPolicy.Basic256Sha256,
        ApplicationUri = "urn:washer-2:controller",
        Host = "washer-2",
    };

    public CertificateCheck Of(byte[] chain, CertificateExpectation? expectation = null) => validator.Validate(chain, expectation ?? Server);

    /// <summary>A self-signed certificate, put into the trusted folder as a person would.</summary>
    public byte[] Trusted(Wish wish)
    {
        var der = Authority.SelfSigned(wish);
        Put("trusted/certs", der);
        return der;
    }

    public void Put(string inStore, byte[] content) => File.WriteAllBytes(Path.Combine(Store.Root, inStore, Path.GetRandomFileName()), content);

    public void Refuses(byte[] chain, string status, params string[] words) => Refuses(chain, status, Server, words);

    /// <summary>Refused for that reason alone.</summary>
    public void Refuses(byte[] chain, string status, CertificateExpectation expectation, params string[] words)
    {
        var check = Of(chain, expectation);
        var finding = Assert.Single(check.Findings);
        Assert.Equal(status, finding.Status.ToString());
        Assert.All(words, word => Assert.Contains(word, finding.Message));
    }

    public void Allows(byte[] chain, string status, CertificateExpectation expectation)
    {
        var check = Of(chain, expectation);
        Assert.True(check.IsAccepted);
        Assert.Equal(status, Assert.Single(check.Allowed).Status.ToString());
    }

    public void Dispose() => folder.Dispose();
}
