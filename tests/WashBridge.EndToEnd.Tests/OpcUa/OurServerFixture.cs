using WashBridge.EndToEnd.Tests.Program;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.EndToEnd.Tests.OpcUa;

/// <summary>A server of ours, and a node-opcua client whose certificate and user it trusts.</summary>
public sealed class OurServerFixture : IAsyncLifetime
{
    private readonly TemporaryFolder folder = new();
    private string? userThumbprint;

    public OurServerFixture()
    {
        Store = PkiStore.Open(folder["pki"]);
        Validator = new CertificateValidator(Store, TimeProvider.System);
    }

    /// <summary>Of clients' certificates.</summary>
    public PkiStore Store { get; }

    public CertificateValidator Validator { get; }

    internal OurServer Server { get; private set; } = null!;

    internal OpcUaPeerClient Client { get; private set; } = null!;

    public async ValueTask InitializeAsync()
    {
        Client = await OpcUaPeerClient.StartAsync();
        Trust(await CertificateFileAsync("valid"));
        var user = await Client.DoAsync(new { @do = "files", user = "peer-user" });
        using var certificate = OpcUaLab.LoadCertificate((string)user["files"]!["valid"]!);
        userThumbprint = certificate.Thumbprint;
        Server = await OurServer.StartAsync(Validator, () => userThumbprint);
    }

    /// <summary>Of the client application: valid, expired, notyet or wronguri.</summary>
    internal async Task<string> CertificateFileAsync(string kind) =>
        (string)(await Client.DoAsync(new { @do = "files", kinds = new[] { kind } }))["files"]![kind]!;

    public void Trust(string certificateFile)
    {
        using var certificate = OpcUaLab.LoadCertificate(certificateFile);
        Store.SaveRejected(certificate.RawData);
        Store.Trust(certificate.Thumbprint);
    }

    public async ValueTask DisposeAsync()
    {
        await Client.DisposeAsync();
        await Server.DisposeAsync();
        folder.Dispose();
    }
}
