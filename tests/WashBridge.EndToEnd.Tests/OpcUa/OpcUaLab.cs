using System.Net;
using System.Security.Cryptography.X509Certificates;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.EndToEnd.Tests.Program;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.EndToEnd.Tests.OpcUa;

[CollectionDefinition(Name)]
public sealed class OpcUaCollection : ICollectionFixture<OpcUaLab>, ICollectionFixture<OurServerFixture>
{
    public const string Name = "OPC UA peers";
}

/// <summary>What the interoperability tests share, because it takes seconds to start: peers, our certificates, and a store that trusts the peer server.</summary>
public sealed class OpcUaLab : IAsyncDisposable
{
    private readonly TemporaryFolder folder = new();
    private readonly Dictionary<string, Task<OpcUaPeerServer>> servers = [];
    private readonly Lazy<Task<OpcUaPeerClient>> client = new(() => OpcUaPeerClient.StartAsync());

    public OpcUaLab()
    {
        Store = PkiStore.Open(folder["pki"]);
        Validator = new CertificateValidator(Store, TimeProvider.System);
    }

    public static ApplicationCertificate OurCertificate { get; } = Make("washbridge-tests", "urn:washbridge:tests:ours");

    public static ApplicationCertificate UserCertificate { get; } = Make("operator", "urn:washbridge:tests:operator");

    /// <summary>Trusts what is trusted by <see cref="Trust"/>.</summary>
    public PkiStore Store { get; }

    public CertificateValidator Validator { get; }

    /// <summary>All policies, users and kinds of identity; nothing unusual. Its certificate is trusted.</summary>
    internal Task<OpcUaPeerServer> Server => ServerAsync("usual", null);

    internal Task<OpcUaPeerClient> Client => client.Value;

    /// <summary>A server of these options, started at the first call, whose certificate is trusted.</summary>
    internal Task<OpcUaPeerServer> ServerAsync(string name, object? options)
    {
        lock (servers)
        {
            return servers.TryGetValue(name, out var server) ? server : servers[name] = StartAsync(options);
        }
    }

    public static ApplicationCertificate Make(string name, string uri) => ApplicationCertificate.CreateSelfSigned(
        new CertificateRequestData { SubjectName = $"CN={name},O=WashBridge tests", ApplicationUri = uri, DnsNames = ["localhost"], IpAddresses = [IPAddress.Loopback] },
        TimeProvider.System);

    /// <summary>Certificates of a PEM or DER file into trusted/certs.</summary>
    public void Trust(string certificateFile)
    {
        using var certificate = LoadCertificate(certificateFile);
        Store.SaveRejected(certificate.RawData);
        Store.Trust(certificate.Thumbprint);
    }

    /// <summary>A folder that lives as long as this.</summary>
    public string Folder(string name) => folder[name];

    internal static X509Certificate2 LoadCertificate(string file) => X509Certificate2.CreateFromPem(File.ReadAllText(file));

    /// <summary>Without protection and without user.</summary>
    internal UaClientOptions Options(OpcUaPeerServer server) => new()
    {
        Endpoint = new Uri(server.EndpointUrl),
        Policy = SecurityPolicy.None,
        Mode = MessageSecurityMode.None,
        Identity = UserIdentity.Anonymous,
        Certificate = OurCertificate,
        Validator = Validator,
        ConnectTimeout = TimeSpan.FromSeconds(10),
        RequestTimeout = TimeSpan.FromSeconds(10),
    };

    internal static Task<UaSession> ConnectAsync(UaClientOptions options) =>
        UaSession.ConnectAsync(options, NullLogger.Instance, TimeProvider.System, TestContext.Current.CancellationToken);

    /// <summary>The error with which a session is refused.</summary>
    internal static async Task<UaException> RefusalAsync(UaClientOptions options) => await Assert.ThrowsAnyAsync<UaException>(async () =>
    {
        await using var session = await ConnectAsync(options);
    });

    public async ValueTask DisposeAsync()
    {
        foreach (var server in servers.Values)
        {
            await (await server).DisposeAsync();
        }

        if (client.IsValueCreated)
        {
            await (await client.Value).DisposeAsync();
        }

        folder.Dispose();
    }

    private async Task<OpcUaPeerServer> StartAsync(object? options)
    {
        var server = await OpcUaPeerServer.StartAsync(options);
        Trust(server.CertificateFile);
        return server;
    }
}
