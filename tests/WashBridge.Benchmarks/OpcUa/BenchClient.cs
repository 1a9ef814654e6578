using System.Security.Cryptography.X509Certificates;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Benchmarks.OpcUa;

/// <summary>Options for our client, with a certificate store of its own that trusts the server of the bench.</summary>
internal sealed class BenchClient : IDisposable
{
    private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("washbridge-bench-");

    private readonly ApplicationCertificate certificate = ApplicationCertificate.CreateSelfSigned(
        new CertificateRequestData { SubjectName = "CN=bench", ApplicationUri = "urn:washbridge:bench", DnsNames = ["localhost"] },
        TimeProvider.System);

    /// <summary>Ours, DER.</summary>
    public byte[] Certificate => certificate.Der.ToArray();

    /// <param name="policy">None, or one that is then used with SignAndEncrypt.</param>
    /// <param name="serverCertificateFile">PEM; null under the policy None.</param>
    public UaClientOptions Options(string url, string policy, string? serverCertificateFile = null)
    {
        var found = SecurityPolicy.FindByName(policy) ?? throw new ArgumentException($"no policy {policy}", nameof(policy));
        var options = new UaClientOptions { Endpoint = new Uri(url), Policy = found, Mode = MessageSecurityMode.None, Identity = UserIdentity.Anonymous };
        if (found.IsNone)
        {
            return options;
        }

        var store = PkiStore.Open(folder.FullName);
        using var server = X509Certificate2.CreateFromPem(File.ReadAllText(serverCertificateFile!));
        File.WriteAllBytes(Path.Combine(store.TrustedFolder, "server.der"), server.RawData);
        return options with { Mode = MessageSecurityMode.SignAndEncrypt, Certificate = certificate, Validator = new CertificateValidator(store, TimeProvider.System) };
    }

    public void Dispose()
    {
        certificate.Dispose();
        folder.Delete(recursive: true);
    }
}
