using System.Text.Json.Serialization;

namespace WashBridge.Simulator.Faults;

/// <summary>How a degradation gets from cycle to cycle.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<WearPath>))]
public enum WearPath
{
    /// <summary>A Wiener process with drift: it recovers a little now and then, but is never better than new.</summary>
    Wiener = 0,

    /// <summary>A gamma process: by jumps, and never back.</summary>
    Gamma = 1,
}

/// <summary>Something that gets worse from cycle to cycle, each time by a random amount of its own.</summary>
public abstract record GradualFault : Fault
{
    /// <summary>At once, in the unit of the kind.</summary>
    public double Initial { get; init; }

    /// <summary>On average with each cycle that starts after.</summary>
    public double PerCycle { get; init; }

    /// <summary>Standard deviation of one cycle's change; 0: a straight line.</summary>
    public double Spread { get; init; }

    public WearPath Path { get; init; }
}

/// <summary>The drain valve of a station closes up. Unit: a share of the opening that is still free, 0 to 0.95; or with <see cref="AsResistance"/> a multiple of the resistance when new.</summary>
public sealed record DrainClogging : GradualFault
{
    /// <summary>1 to 8; 0: all.</summary>
    public int Station { get; init; }

    /// <summary>Drain time grows by equal steps instead of by equal shares.</summary>
    public bool AsResistance { get; init; }
}

/// <summary>The drain sensor of a station goes on reading wet after the last drop, and bounces longer. Unit: seconds, mean of a drain.</summary>
public sealed record DrainSensorSticking : GradualFault
{
    /// <summary>1 to 8; 0: all, or the shared one.</summary>
    public int Station { get; init; }
}

/// <summary>Unit: share of the impeller's speed that is left, 0 to 0.9.</summary>
public sealed record PumpWear : GradualFault;

/// <summary>The control air falls. Unit: bar.</summary>
public sealed record AirFalling : GradualFault;

/// <summary>The CO2 supply falls. Unit: bar.</summary>
public sealed record Co2Falling : GradualFault;

/// <summary>The tube of a dosing pump tires. Unit: share of what a new one delivers, 0 to 1.</summary>
public sealed record DosingTubeWear : GradualFault
{
    public required BathKind Bath { get; init; }
}

/// <summary>The check valve of a dosing line leaks, so that chemical drains back while the pump stands. Unit: share of the line in 1,000 s.</summary>
public sealed record DosingCheckValveLeak : GradualFault
{
    public required BathKind Bath { get; init; }

    /// <summary>Added for each hour in which chemical stood in the line: an oxidiser corrodes what it touches (common practice, no source).</summary>
    public double PerStandingHour { get; init; }
}

/// <summary>Scale grows on the heater, or its elements die. Unit: share of its power when new, 0 to 1.</summary>
public sealed record HeaterScaling : GradualFault
{
    public required BathKind Bath { get; init; }
}
