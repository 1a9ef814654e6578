using System.Net;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Tests.Configuration;

namespace WashBridge.Tests.OpcUa;

/// <summary>Our own server in the part of a controller, and a site that reads it: washer w3, with a tag map of the test's.</summary>
internal sealed class ControllerOnLoopback : IAsyncDisposable
{
    public const string Namespace = "urn:example:washer";
    public const string ApplicationUri = "urn:example:washer-3";

    private readonly ConfigurationFixture site = new("GoodOpcUa");
    private readonly ApplicationCertificate certificate;
    private readonly PkiStore store;
    private readonly ushort ns;
    private UaServer? server;

    public ControllerOnLoopback()
    {
        store = PkiStore.Open(Path.Combine(site.Folder, "controller-pki"));
        certificate = store.LoadOrCreateOwn(
            new CertificateRequestData { SubjectName = "CN=Washer 3", ApplicationUri = ApplicationUri, DnsNames = ["localhost"], IpAddresses = [IPAddress.Loopback] }, TimeProvider.System);
        ns = Space.AddNamespace(Namespace);
        site.Replace("site.yaml", "  - washers/w4.yaml\n", "");
        site.Replace("washers/w3.yaml", "  user: bridge\n  secret: {env: TEST_SECRET}\n", "");
        site.Replace("washers/w3.yaml", "  security-policy: Basic256Sha256\n  security-mode: Sign\n", "");
        site.Replace("site.yaml", "      - {user: plant, secret: {env: TEST_SECRET}}\n", "");
    }

    public AddressSpace Space { get; } = new();

    /// <summary>The controller's certificates.</summary>
    public PkiStore Store => store;

    public string Thumbprint => certificate.Certificate.Thumbprint;

    public string Site => Path.Combine(site.Folder, "site.yaml");

    public Uri Endpoint => server!.Endpoint;

    /// <summary>The bridge's certificates.</summary>
    public PkiStore BridgeStore => PkiStore.Open(Path.Combine(site.Folder, "certificates"));

    public NodeId Id(string name) => new(ns, name);

    public void Replace(string file, string text, string by) => site.Replace(file, text, by);

    /// <summary>The tag map: the lines of its tags.</summary>
    public void Map(params string[] tags) =>
        site.Write("tag-maps/nodes.yaml", $"namespaces: {{w: {Namespace}}}\ntags:\n{string.Concat(tags.Select(t => $"  - {{{t}}}\n"))}");

    /// <summary>Starts to listen, and tells the washer's file where.</summary>
    public async Task StartAsync(Func<UaServerOptions, UaServerOptions>? change = null)
    {
        var options = new UaServerOptions
        {
            Port = 0,
            HostNames = ["127.0.0.1"],
            ApplicationName = "Washer 3",
            Endpoints = [.. ServerEndpoint.Protected, ServerEndpoint.Unprotected],
            Certificate = certificate,
            Validator = new CertificateValidator(store, TimeProvider.System),
            AllowAnonymous = true,
        };
        server = await UaServer.StartAsync(change?.Invoke(options) ?? options, Space);
        site.Replace("washers/w3.yaml", "opc.tcp://washer3.example/line", $"opc.tcp://127.0.0.1:{server.Endpoint.Port}");
    }

    /// <summary>Both trust the other, as after the first exchange of certificates.</summary>
    public void Trust()
    {
        var bridge = BridgeStore;
        using var own = bridge.LoadOrCreateOwn(
            new CertificateRequestData { SubjectName = "CN=Bridge of the test site", ApplicationUri = "urn:example:bridge", DnsNames = ["bridge.example"] }, TimeProvider.System);
        File.WriteAllBytes(Path.Combine(bridge.TrustedFolder, "washer.der"), certificate.Der.ToArray());
        File.WriteAllBytes(Path.Combine(store.TrustedFolder, "bridge.der"), own.Der.ToArray());
    }

    public async ValueTask DisposeAsync()
    {
        if (server is not null)
        {
            await server.DisposeAsync();
        }

        certificate.Dispose();
        site.Dispose();
    }
}
