using System.Diagnostics;
using System.Net;
using System.Net.Sockets;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using WashBridge.Benchmarks.Influx;

namespace WashBridge.EndToEnd.Tests.Messaging;

/// <summary>Debian's mosquitto on a free loopback port, in a temporary folder, ended by its own process. It keeps its port when it is killed and started again.</summary>
internal sealed class Mosquitto : IAsyncDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("washbridge-broker-").FullName;
    private Process? _process;

    private Mosquitto()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        Port = ((IPEndPoint)listener.LocalEndpoint).Port;
    }

    public int Port { get; }

    public string this[string file] => Path.Combine(_folder, file);

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    public static async Task<Mosquitto> StartAsync(params string[] options)
    {
        var broker = new Mosquitto();
        await broker.ConfigureAsync(options.Length > 0 ? options : ["allow_anonymous true"]);
        return broker;
    }

    /// <summary>The user <c>bridge</c> with the password <c>right</c>, and nobody else.</summary>
    public static async Task<Mosquitto> StartWithPasswordAsync()
    {
        var broker = new Mosquitto();
        Assert.Equal(0, (await PeerProcess.RunAsync("mosquitto_passwd", "-c", "-b", broker["passwords"], "bridge", "right")).ExitCode);
        await broker.ConfigureAsync("allow_anonymous false", $"password_file {broker["passwords"]}");
        return broker;
    }

    /// <summary>TLS with a certificate for localhost; a client must show one of the same authority.</summary>
    public static async Task<Mosquitto> StartWithTlsAsync(TrialAuthority authority)
    {
        var broker = new Mosquitto();
        await File.WriteAllTextAsync(broker["ca.pem"], authority.Pem, Stop);
        await authority.WriteAsync("localhost", broker["server"], Stop);
        await broker.ConfigureAsync(
            "allow_anonymous true", "require_certificate true", $"cafile {broker["ca.pem"]}", $"certfile {broker["server"]}.pem", $"keyfile {broker["server"]}.key");
        return broker;
    }

    public Task StartAgainAsync() => RunAsync();

    /// <summary>As a power cut would.</summary>
    public async Task KillAsync()
    {
        if (_process is { } process)
        {
            _process = null;
            await ServerProcess.KillAsync(process);
        }
    }

    public Task<PeerProcess> ListenAsync(params string[] options) => PeerProcess.ServeAsync("node", ["sparkplug_peer.mjs", "listen", $"{Port}", .. options]);

    public async Task AskAsync(string topic, string metric, bool value) =>
        Assert.Equal((0, ""), await PeerProcess.RunAsync("node", "sparkplug_peer.mjs", "ask", $"{Port}", topic, metric, value ? "true" : "false"));

    public async Task RetainAsync(string topic, string message) =>
        Assert.Equal((0, ""), await PeerProcess.RunAsync("mosquitto_pub", "-h", "localhost", "-p", $"{Port}", "-t", topic, "-r", "-q", "1", "-m", message));

    public async ValueTask DisposeAsync()
    {
        await KillAsync();
        Directory.Delete(_folder, recursive: true);
    }

    /// <summary>Started by root it would change to a user of its own, who cannot read the folder.</summary>
    private async Task ConfigureAsync(params string[] options)
    {
        await File.WriteAllLinesAsync(this["mosquitto.conf"], [$"listener {Port} localhost", .. options, "log_dest stderr", $"user {Environment.UserName}"], Stop);
        await RunAsync();
    }

    private async Task RunAsync() => _process = await ServerProcess.StartAsync("mosquitto", ["-c", this["mosquitto.conf"]], " running", Stop);
}

/// <summary>An authority of a test's own.</summary>
internal sealed class TrialAuthority : IDisposable
{
    private readonly X509Certificate2 _root;

    public TrialAuthority()
    {
        using var key = RSA.Create(2048);
        _root = Request("Trial authority", key, isAuthority: true).CreateSelfSigned(From, Until);
    }

    public string Pem => _root.ExportCertificatePem();

    /// <summary>As a configuration that names its file has it.</summary>
    public IReadOnlyList<X509Certificate2> Trusted => [X509CertificateLoader.LoadCertificate(_root.RawData)];

    private static DateTimeOffset From { get; } = TimeProvider.System.GetUtcNow().AddDays(-1);

    private static DateTimeOffset Until { get; } = From.AddDays(20);

    public X509Certificate2 Issue(string name)
    {
        using var key = RSA.Create(2048);
        using var issued = Request(name, key, isAuthority: false).Create(_root, From, Until.AddDays(-1), RandomNumberGenerator.GetBytes(8));
        using var whole = issued.CopyWithPrivateKey(key);
        return X509CertificateLoader.LoadPkcs12(whole.Export(X509ContentType.Pkcs12), null, X509KeyStorageFlags.Exportable);
    }

    public async Task WriteAsync(string name, string path, CancellationToken cancellation)
    {
        using var issued = Issue(name);
        using var key = issued.GetRSAPrivateKey()!;
        await File.WriteAllTextAsync(path + ".pem", issued.ExportCertificatePem(), cancellation);
        await File.WriteAllTextAsync(path + ".key", key.ExportPkcs8PrivateKeyPem(), cancellation);
    }

    public void Dispose() => _root.Dispose();

    private static CertificateRequest Request(string name, RSA key, bool isAuthority)
    {
        var request = new CertificateRequest($"CN={name}", key, HashAlgorithmName.SHA256, RSASignaturePadding.Pkcs1);
        request.CertificateExtensions.Add(new X509BasicConstraintsExtension(isAuthority, false, 0, true));
        var names = new SubjectAlternativeNameBuilder();
        names.AddDnsName(name.Replace(' ', '-'));
        request.CertificateExtensions.Add(names.Build());
        return request;
    }
}
