using System.Globalization;
using WashBridge.Certificates;
using WashBridge.Configuration;
using WashBridge.Demo;
using WashBridge.Simulator;
using WashBridge.Simulator.Hosting;
using WashBridge.Simulator.Programmes;
using WashBridge.Simulator.Truth;

namespace WashBridge.Benchmarks.Fleet;

/// <summary>
/// The washers of a fleet in a process of their own: two stations each, the full programme, all instruments, one controller with an address of its own each. They live in real
/// time, and begin at different moments. What really happened is written down cycle by cycle.
/// </summary>
internal sealed class FleetPlant : IBench
{
    public const string TruthFile = "truth.jsonl";

    /// <summary>From one cycle's start to the next, about: the first starts are spread over it.</summary>
    private static readonly TimeSpan Cycle = TimeSpan.FromSeconds(190);

    public string Name => "fleet-plant";

    public string What => "(child process of 'fleet') simulated washers: COUNT, OF-THEM-OPC-UA, FOLDER; prints their ports; ends with its standard input";

    public static WasherOptions Options(int number) => new()
    {
        Id = FleetSite.WasherId(number),
        Title = $"Washer {number}",
        Seed = number,
        Stations = 2,
        Programmes = [InventedProgrammes.Full, InventedProgrammes.WithoutAcid],
        KegIds = true,
        FirstStart = TimeSpan.FromSeconds(5) + (Cycle * (number * 0.618 % 1)),
    };

    public async Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var (count, byOpcUa, folder) = (int.Parse(arguments[0], CultureInfo.InvariantCulture), int.Parse(arguments[1], CultureInfo.InvariantCulture), arguments[2]);
        using var bridge = byOpcUa == 0 ? null : new OpcUaApplication(
            new OpcUaConfiguration { Pki = Path.Combine(folder, FleetSite.PkiFolder), ApplicationUri = "urn:washbridge:fleet", HostNames = ["localhost", "127.0.0.1"] }, TimeProvider.System);
        var server = bridge is null ? null : DemoTrust.Introduce(bridge, Path.Combine(folder, "controllers"), TimeProvider.System);
        await using var host = await SimulationHost.StartAsync(
            [.. Enumerable.Range(1, count).Select(n => new HostedController(new SimulatedWasher(Options(n)), 0, n > count - byOpcUa ? server : null))],
            TimeProvider.System);
        using var truth = new TruthWriter(Path.Combine(folder, TruthFile), host.StartedAt);
        foreach (var hosted in host.Washers)
        {
            truth.Follow(hosted.Washer);
        }

        Console.WriteLine(string.Join(' ', host.Washers.Select(w => w.Endpoint.Port)));
        await Console.In.ReadToEndAsync(cancellation);
    }
}
