using WashBridge.Simulator.Faults;

namespace WashBridge.Simulator.Demo;

/// <summary>
/// The demonstration's washers in the hours before it begins: a reference period needs hundreds of cycles, and nobody waits for them. All is well but
/// for the drain valve of station 2 in the north hall, which begins to clog half-way, slowly. It is clean when the demonstration begins, as if somebody had cleaned it and
/// told nobody: the alarm stands until the drains show it, or <c>maintain</c> tells.
/// </summary>
public static class DemoPast
{
    /// <summary>About 300 cycles of each washer: enough for a reference, and for a trend after it.</summary>
    public static TimeSpan StandardLength { get; } = TimeSpan.FromHours(16);

    /// <summary>Where the valve stands at the end: its resistance beyond that when clean, as a multiple of it.</summary>
    private const double Clogged = 1;

    /// <summary>From one cycle's start to the next, about.</summary>
    private static readonly TimeSpan Cycle = TimeSpan.FromSeconds(190);

    /// <summary>A washer of the demonstration as it was before, new and clean at the beginning of a past of this length.</summary>
    public static SimulatedWasher Make(DemoWasher washer, TimeSpan length)
    {
        ArgumentNullException.ThrowIfNull(washer);
        var half = Math.Max(1, (int)(length / Cycle / 2));
        return new SimulatedWasher(washer.Options with
        {
            // Other chances than in the demonstration itself.
            Seed = washer.Options.Seed + 1,
            Faults = washer.Options.KegIds ? [new DrainClogging { When = When.InCycle(half), Station = 2, AsResistance = true, PerCycle = Clogged / half }] : [],
        });
    }
}
