using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Physics;
using WashBridge.Simulator.Programmes;

namespace WashBridge.Simulator;

/// <summary>How the controller tells where it is.</summary>
public enum SequenceOutput
{
    /// <summary>A register holds a step code.</summary>
    StepCode = 0,

    /// <summary>Only valve and pump bits, and whether the programme runs.</summary>
    ValveBits = 1,
}

/// <summary>How much is measured.</summary>
public enum Instrumentation
{
    /// <summary>Pressures, temperatures, strengths, flow, current, levels, counters and setpoints.</summary>
    Full = 0,

    /// <summary>The caustic's temperature and the water pressure.</summary>
    Poor = 1,
}

/// <summary>How values lie in the controller's memory.</summary>
public enum RegisterLayout
{
    /// <summary>Flags as discrete inputs, measurements as floating point in input registers, codes and setpoints in holding registers.</summary>
    Wide = 0,

    /// <summary>All in holding registers: flags as bits of words, measurements as scaled whole numbers.</summary>
    Packed = 1,
}

/// <summary>One simulated washer.</summary>
public sealed record WasherOptions
{
    /// <summary>Lower-case letters, digits and hyphens.</summary>
    public required string Id { get; init; }

    public string Title { get; init; } = "";

    /// <summary>The same seed, options and version give the same run.</summary>
    public int Seed { get; init; } = 1;

    /// <summary>1 to 8.</summary>
    public int Stations { get; init; } = 2;

    /// <summary>The controller's scan time, 5 to 200 ms; physics moves in the same steps.</summary>
    public TimeSpan Scan { get; init; } = TimeSpan.FromMilliseconds(50);

    /// <summary>The first is selected at the start and names every phase; others use the same phases in the same order, or some of them.</summary>
    public IReadOnlyList<WasherProgramme> Programmes { get; init; } = [InventedProgrammes.Full];

    public PlantOptions Plant { get; init; } = new();

    public SequenceOutput Sequence { get; init; }

    public Instrumentation Instrumentation { get; init; }

    public RegisterLayout Layout { get; init; }

    /// <summary>The controller refuses a read that touches an address with nothing in it; otherwise holes read as 0.</summary>
    public bool RefusesHoles { get; init; }

    /// <summary>One drain sensor serves all stations.</summary>
    public bool SharedDrainSensor { get; init; }

    /// <summary>The controller knows the kegs' own ids.</summary>
    public bool KegIds { get; init; }

    /// <summary>The controller tells which stations are occupied.</summary>
    public bool KegPresent { get; init; } = true;

    /// <summary>The step code tells the pass (its thousands).</summary>
    public bool PassInCode { get; init; }

    /// <summary>The step code changes while paused; <c>sequence.paused</c> tells it in any case.</summary>
    public bool PausedCode { get; init; }

    /// <summary>Nobody loads it before <see cref="SimulatedWasher.Begin"/> is called.</summary>
    public bool WaitsToBegin { get; init; }

    /// <summary>From start to the first cycle.</summary>
    public TimeSpan FirstStart { get; init; } = TimeSpan.FromSeconds(5);

    /// <summary>From one cycle's end to the next one's start, at least.</summary>
    public TimeSpan LoadMinimum { get; init; } = TimeSpan.FromSeconds(12);

    public TimeSpan LoadMaximum { get; init; } = TimeSpan.FromSeconds(20);

    /// <summary>From a fault until a person acknowledges it.</summary>
    public TimeSpan FaultReset { get; init; } = TimeSpan.FromSeconds(20);

    /// <summary>Chance that a person leaves a station empty; one keg is always loaded.</summary>
    public double EmptyStationChance { get; init; }

    /// <summary>A drain step that lasts longer is a fault.</summary>
    public TimeSpan DrainTimeout { get; init; } = TimeSpan.FromSeconds(30);

    /// <summary>A drain step lasts at least this long.</summary>
    public TimeSpan DrainMinimum { get; init; } = TimeSpan.FromSeconds(2);

    /// <summary>All sensors must have read dry for this long.</summary>
    public TimeSpan DryConfirmation { get; init; } = TimeSpan.FromMilliseconds(400);

    public IReadOnlyList<Fault> Faults { get; init; } = [];

    /// <summary>Cycles of ground truth kept in memory; older ones are dropped and counted.</summary>
    public int TruthCapacity { get; init; } = 20_000;

    /// <exception cref="ArgumentException">An option is out of range or two contradict each other.</exception>
    internal WasherOptions Validated()
    {
        Require(Id.Length > 0 && Id.All(c => c is (>= 'a' and <= 'z') or (>= '0' and <= '9') or '-'), $"id '{Id}': lower-case letters, digits and hyphens");
        Require(Stations is >= 1 and <= 8, $"stations {Stations}: 1 to 8");
        Require(Scan >= TimeSpan.FromMilliseconds(5) && Scan <= TimeSpan.FromMilliseconds(200), $"scan {Scan}: 5 to 200 ms");
        Require(Programmes.Count > 0, "programmes: at least one");
        Require(LoadMinimum >= TimeSpan.Zero && LoadMaximum >= LoadMinimum, $"load time {LoadMinimum} to {LoadMaximum}: not negative, least first");
        Require(DrainMinimum < DrainTimeout && DryConfirmation < DrainTimeout, $"drain time-out {DrainTimeout}: longer than the least drain time and the confirmation");
        foreach (var programme in Programmes)
        {
            var known = Programmes[0].Phases;
            var next = 0;
            foreach (var phase in programme.Phases)
            {
                var found = known.Skip(next).TakeWhile(p => p.Id != phase.Id).Count() + next;
                Require(found < known.Count, $"programme {programme.Number}: phase '{phase.Id}' is not in the first programme, or not in its order");
                Require(known[found].Kind == phase.Kind && known[found].Steps.Select(s => s.Kind).SequenceEqual(phase.Steps.Select(s => s.Kind)), $"programme {programme.Number}: phase '{phase.Id}' differs in kind or steps from the first programme's");
                Require(phase.Passes is >= 1 and <= 20, $"programme {programme.Number}: phase '{phase.Id}': passes {phase.Passes}: 1 to 20");
                next = found + 1;
            }
        }

        return this;
    }

    private static void Require(bool holds, string message)
    {
        if (!holds)
        {
            throw new ArgumentException("simulated washer: " + message);
        }
    }
}
