using WashBridge.Core.Cycles;

namespace WashBridge.Simulator.Faults;

/// <summary>When a fault begins: at a time, or at a place in a cycle (which gets its time when the controller comes there).</summary>
public sealed record When
{
    private When()
    {
    }

    /// <summary>Virtual time from the start of the simulation; null when a place in a cycle is meant.</summary>
    public TimeSpan? Time { get; private init; }

    /// <summary>The cycle, counted from 1 since the start of the simulation.</summary>
    public int Cycle { get; private init; }

    /// <summary>The phase, or null for the start of the cycle.</summary>
    public string? Phase { get; private init; }

    public StepKind Step { get; private init; }

    /// <summary>How long after the cycle, or the step's first pass, began.</summary>
    public TimeSpan After { get; private init; }

    public static When At(TimeSpan time) => new() { Time = time };

    public static When InCycle(int cycle, TimeSpan after = default) => new() { Cycle = cycle, After = after };

    public static When InStep(int cycle, string phase, StepKind step, TimeSpan after = default) =>
        new() { Cycle = cycle, Phase = phase, Step = step, After = after };
}
