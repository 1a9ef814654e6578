using Microsoft.Extensions.Logging;
using WashBridge.Core.Cycles;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Hosting;
using WashBridge.Simulator.Physics;
using WashBridge.Simulator.Programmes;
using WashBridge.Simulator.Registers;

namespace WashBridge.Simulator.Demo;

/// <summary>A washer of the demonstration.</summary>
/// <param name="Options">What is simulated.</param>
/// <param name="Port">The TCP port on loopback on which its controller answers.</param>
/// <param name="Map">Where its signals lie.</param>
/// <param name="Model">Its programme and how its signals tell the position.</param>
/// <param name="IsOpcUa">It speaks OPC UA; else Modbus TCP.</param>
public sealed record DemoWasher(WasherOptions Options, int Port, IReadOnlyList<MappedRegister> Map, WasherModel Model, bool IsOpcUa);

/// <summary>
/// The demonstration: a brewery, washers and mishaps of our own invention. Within the first ten minutes of simulated time it has shown good kegs,
/// a keg whose sanitiser hold was cut short, a cycle whose hold nobody saw because the connection dropped, and a station whose drain takes longer each cycle.
/// </summary>
public static class DemoScenario
{
    /// <summary>Simulated seconds a second.</summary>
    public const double DefaultSpeed = 10;

    public const string SiteId = "millrace";

    public const string SiteTitle = "Millrace Brewery";

    /// <summary>The approved sanitiser hold.</summary>
    public static TimeSpan SanitiserHold { get; } = TimeSpan.FromSeconds(35);

    public static IReadOnlyList<DemoWasher> Washers { get; } = [Describe(North, 15021, isOpcUa: false), Describe(Yard, 15022, isOpcUa: true)];

    /// <summary>The demonstration's washers, new, behind their servers on free ports. They wait to begin.</summary>
    /// <param name="opcUa">How a washer that speaks OPC UA is reached and by whom.</param>
    /// <param name="time">Scaled to run faster than real time.</param>
    /// <param name="logger">For the servers.</param>
    public static Task<SimulationHost> StartAsync(UaServerOptions opcUa, TimeProvider time, ILogger? logger = null) => SimulationHost.StartAsync(
        [.. Washers.Select(w => new HostedController(new SimulatedWasher(w.Options with { WaitsToBegin = true }), 0, w.IsOpcUa ? opcUa : null))],
        time,
        logger);

    /// <summary>Two stations, step codes, keg ids, all instruments. The drain of station 1 clogs from cycle to cycle until the controller's time-out stops the washer, and is
    /// cleaned every tenth cycle; in the second cycle, with one keg, the hold is cut short.</summary>
    private static WasherOptions North => new()
    {
        Id = "north",
        Title = "North hall, two stations",
        Seed = 4711,
        Stations = 2,
        Programmes = [InventedProgrammes.Full, InventedProgrammes.WithoutAcid],
        Sequence = SequenceOutput.StepCode,
        Instrumentation = Instrumentation.Full,
        Layout = RegisterLayout.Wide,
        KegIds = true,
        Faults =
        [
            new DrainClogging { When = When.InCycle(1), Station = 1, Initial = 0.1, PerCycle = 0.16 },
            .. Enumerable.Range(1, 100).Select(n => new DrainCleaned { When = When.InCycle(10 * n), Station = 1 }),
            new StationLeftEmpty { When = When.InCycle(1), Station = 2 },
            new SetpointEdited { When = When.InCycle(2), Setpoint = "sanitise.hold", Value = TimeSpan.FromSeconds(21) },
            new SetpointEdited { When = When.InStep(2, "evacuate", StepKind.Drain), Setpoint = "sanitise.hold", Value = SanitiserHold },
        ],
    };

    /// <summary>Four stations, valve bits only, one drain sensor for all, few instruments. In the second cycle the connection drops during the hold.</summary>
    private static WasherOptions Yard => new()
    {
        Id = "yard",
        Title = "Yard, four stations",
        Seed = 1337,
        Stations = 4,
        Programmes = [InventedProgrammes.Plain],
        Plant = new PlantOptions
        {
            Baths = [new BathOptions(BathKind.Caustic, 150, 1.6, 65, 12, true), new BathOptions(BathKind.Sanitiser, 90, 1.0, 20, 0, true)],
        },
        Sequence = SequenceOutput.ValveBits,
        Instrumentation = Instrumentation.Poor,
        Layout = RegisterLayout.Packed,
        SharedDrainSensor = true,
        FirstStart = TimeSpan.FromSeconds(20),
        Faults =
        [
            new ConnectionLoss { When = When.InStep(2, "sanitise", StepKind.Hold, TimeSpan.FromSeconds(8)), Duration = TimeSpan.FromSeconds(15) },
        ],
    };

    private static DemoWasher Describe(WasherOptions options, int port, bool isOpcUa)
    {
        var washer = new SimulatedWasher(options);
        return new DemoWasher(options, port, washer.Map, washer.Model, isOpcUa);
    }
}
