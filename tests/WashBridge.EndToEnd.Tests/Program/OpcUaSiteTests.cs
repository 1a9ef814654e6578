using System.Net;
using System.Net.Sockets;
using System.Text.RegularExpressions;
using WashBridge.EndToEnd.Tests.OpcUa;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Simulator;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Hosting;

namespace WashBridge.EndToEnd.Tests.Program;

/// <summary>
/// A brewery's first day with OPC UA, as its IT lives through it: the controller is refused, looked at and trusted; the washer is read; a plant system, which is
/// an independent client, is refused, trusted, and reads what the service publishes.
/// </summary>
public sealed class OpcUaSiteTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    private static CancellationToken Deadline => new CancellationTokenSource(TimeSpan.FromMinutes(2)).Token;

    private string Site => Path.Combine(_folder["site"], "site.yaml");

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task Certificates_are_trusted_both_ways_then_the_washer_is_read_and_published()
    {
        var controllerStore = PkiStore.Open(_folder["controller"]);
        await using var host = await SimulationHost.StartAsync([Controller(controllerStore)], TimeProvider.System);
        var port = FreePort();
        Write(host.Washers[0].Endpoint.Port, port);

        // The controller is a stranger.
        var (exit, output, _) = await ProgramProcess.RunAsync(Deadline, "check", Site);
        Assert.Equal(2, exit);
        Assert.True(output.Contains("not trusted", StringComparison.Ordinal), output);
        var theirs = Regex.Match(output, "certificates trust [^ ]+ ([0-9A-F]+)").Groups[1].Value;
        Assert.True(theirs.Length >= 4, output);

        // Its certificate is compared and trusted; ours is given to it.
        (exit, output, _) = await ProgramProcess.RunAsync(Deadline, "certificates", "trust", Site, theirs);
        Assert.Equal(0, exit);
        (exit, output, _) = await ProgramProcess.RunAsync(Deadline, "check", Site);
        Assert.Equal(2, exit); // the controller does not know us yet
        File.Copy(Path.Combine(_folder["site"], "pki", "own", "certs", "application.der"), Path.Combine(controllerStore.TrustedFolder, "bridge.der"));
        (exit, output, _) = await ProgramProcess.RunAsync(Deadline, "check", Site);
        Assert.True(exit == 0, output);
        Assert.Contains("25 tags good, 0 uncertain, 0 bad", output);

        await using var service = ProgramProcess.Start("run", Site);
        await service.SeeAsync("yard: connected to opc.tcp://127.0.0.1:", Deadline);
        await service.SeeAsync($"can read this site at opc.tcp://127.0.0.1:{port}", Deadline);
        await Plant(port);
        service.Interrupt();
        var (ended, _, errors) = await service.EndAsync(Deadline);
        Assert.Equal((0, ""), (ended, errors));
    }

    private async Task Plant(int port)
    {
        await using var plant = await OpcUaPeerClient.StartAsync();
        var connect = new { @do = "connect", url = $"opc.tcp://127.0.0.1:{port}", policy = "Aes256_Sha256_RsaPss", identity = new { user = "plant", password = "barley and hops" } };

        // A stranger is refused until somebody trusts it; nobody else's password helps.
        Assert.NotNull((await plant.TryAsync(connect))["error"]);
        var (_, list, _) = await ProgramProcess.RunAsync(Deadline, "certificates", "list", Site);
        var rejected = Regex.Match(list, "[Rr]ejected.*?([0-9A-F]{8,40})", RegexOptions.Singleline).Groups[1].Value;
        var (exit, output, _) = await ProgramProcess.RunAsync(Deadline, "certificates", "trust", Site, rejected);
        Assert.True(exit == 0, list + output);
        Assert.NotNull((await plant.TryAsync(new { connect.@do, connect.url, connect.policy, identity = new { user = "plant", password = "hops and barley" } }))["error"]);
        await plant.DoAsync(connect);

        var namespaces = (await plant.DoAsync(new { @do = "read", nodes = new[] { "i=2255" } }))["values"]![0]!["value"]!.ToJsonString();
        Assert.Contains("urn:washbridge:millrace:washers", namespaces);
        var found = (await plant.DoAsync(new { @do = "browse", node = "i=85", all = true }))["references"]!.AsArray();
        var variable = found.Single(r => ((string)r!["node"]!).EndsWith("s=yard/Signals/temperature.caustic", StringComparison.Ordinal))!;
        var node = (string)variable["node"]!;
        var value = (await plant.DoAsync(new { @do = "read", nodes = new[] { node } }))["values"]![0]!;
        Assert.Equal("Good", (string?)value["status"]);

        // Nothing can be written, and nothing can be called.
        Assert.Contains("BadServiceUnsupported", (await plant.TryAsync(new { @do = "write", node, type = "Double", value = 99.0 })).ToJsonString());
        Assert.Contains("BadServiceUnsupported", (await plant.TryAsync(new { @do = "service", name = "Call" })).ToJsonString());
        await plant.DoAsync(new { @do = "close" });
    }

    private static HostedController Controller(PkiStore store) => new(
        new SimulatedWasher(DemoScenario.Washers[1].Options with { Faults = [] }),
        0,
        new UaServerOptions
        {
            ApplicationName = "Simulated keg washer",
            Certificate = store.LoadOrCreateOwn(
                new CertificateRequestData { SubjectName = "CN=Simulated keg washer", ApplicationUri = "urn:example:keg-washer:controller", IpAddresses = [IPAddress.Loopback] }, TimeProvider.System),
            Validator = new CertificateValidator(store, TimeProvider.System),
            AllowAnonymous = true,
        });

    /// <summary>The demonstration's site with its OPC UA washer alone, and with a server for the plant.</summary>
    private void Write(int controllerPort, int port)
    {
        var shipped = Path.Combine(AppContext.BaseDirectory, "config", "demo");
        foreach (var file in Directory.GetFiles(shipped, "*.yaml", SearchOption.AllDirectories))
        {
            var target = Path.Combine(_folder["site"], Path.GetRelativePath(shipped, file));
            Directory.CreateDirectory(Path.GetDirectoryName(target)!);
            File.WriteAllText(target, File.ReadAllText(file).Replace(":15022", $":{controllerPort}", StringComparison.Ordinal));
        }

        File.WriteAllText(Path.Combine(_folder["site"], "plant-password.txt"), "barley and hops\n");
        File.WriteAllText(Site, $"""
            site: millrace
            title: Millrace Brewery
            time-zone: UTC
            washers: [washers/yard.yaml]
            store: {"{"}path: {_folder["plant.washdb"]}{"}"}
            opc-ua:
              host-names: [127.0.0.1]
              server:
                port: {port}
                users:
                  - user: plant
                    secret: {"{"}file: plant-password.txt{"}"}
            """);
    }

    private static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }
}
