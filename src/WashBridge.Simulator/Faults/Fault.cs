using System.Text.Json.Serialization;

namespace WashBridge.Simulator.Faults;

/// <summary>Something that goes wrong, or that a person does, on a schedule.</summary>
public abstract record Fault
{
    public required When When { get; init; }
}

/// <summary>Faults of the connection or of the bridge: the washer itself does not notice.</summary>
public abstract record LinkFault : Fault;

[JsonConverter(typeof(JsonStringEnumConverter<BathKind>))]
public enum BathKind
{
    Caustic = 0,
    Acid = 1,
    Sanitiser = 2,
}

public sealed record DrainSensorStuck : Fault
{
    /// <summary>1 to 8; 0: all, or the shared one.</summary>
    public int Station { get; init; }

    public required bool ReadsDry { get; init; }

    public required TimeSpan Duration { get; init; }
}

/// <summary>The sensor's contact opens and closes of itself.</summary>
public sealed record DrainSensorChatter : Fault
{
    /// <summary>1 to 8; 0: all, or the shared one.</summary>
    public int Station { get; init; }

    public required TimeSpan Duration { get; init; }

    /// <summary>Changes a second.</summary>
    public double Rate { get; init; } = 4;
}

/// <summary>A bath runs empty and is not topped up.</summary>
public sealed record BathEmpty : Fault
{
    public required BathKind Bath { get; init; }

    public required TimeSpan Duration { get; init; }
}

public sealed record HeaterFailure : Fault
{
    public required BathKind Bath { get; init; }

    public required TimeSpan Duration { get; init; }
}

/// <summary>The dosing pump delivers less than the controller believes.</summary>
public sealed record WeakDosing : Fault
{
    public required BathKind Bath { get; init; }

    /// <summary>Share that is delivered, 0 to 1.</summary>
    public required double Share { get; init; }
}

public sealed record LowCo2 : Fault
{
    /// <summary>Supply pressure, bar absolute.</summary>
    public required double Bar { get; init; }

    public required TimeSpan Duration { get; init; }
}

/// <summary>The water main delivers less, or more.</summary>
public sealed record WaterPressure : Fault
{
    /// <summary>Static pressure, bar absolute.</summary>
    public required double Bar { get; init; }

    public required TimeSpan Duration { get; init; }
}

/// <summary>The compressor or its dryer gives less control air: valves stroke slowly, and drains get less pressure to help them.</summary>
public sealed record LowAir : Fault
{
    /// <summary>Supply pressure, bar absolute.</summary>
    public required double Bar { get; init; }

    public required TimeSpan Duration { get; init; }
}

/// <summary>A person switches the automatic dosing of a bath off or on; while it is off its strength only falls.</summary>
public sealed record DosingSwitched : Fault
{
    public required BathKind Bath { get; init; }

    public required bool Automatic { get; init; }
}

/// <summary>A person stops the programme.</summary>
public sealed record OperatorStop : Fault;

/// <summary>A person holds the programme. Valves close, the pump stops, step times stand still.</summary>
public sealed record OperatorPause : Fault
{
    public required TimeSpan Duration { get; init; }
}

/// <summary>Everything stops; the controller comes back idle.</summary>
public sealed record PowerCut : Fault
{
    public required TimeSpan Duration { get; init; }
}

/// <summary>The controller alone restarts: valves close meanwhile, nobody can read it.</summary>
public sealed record ControllerRestart : Fault
{
    public required TimeSpan Duration { get; init; }

    /// <summary>It goes on where it was; otherwise it comes back idle.</summary>
    public bool Resumes { get; init; }
}

public sealed record SetpointEdited : Fault
{
    /// <summary>Such as <c>sanitise.hold</c>.</summary>
    public required string Setpoint { get; init; }

    public required TimeSpan Value { get; init; }
}

/// <summary>A person switches a phase off or on; it counts from the next cycle.</summary>
public sealed record PhaseSwitched : Fault
{
    public required string Phase { get; init; }

    public required bool Enabled { get; init; }
}

/// <summary>A person selects another programme; it counts from the next cycle.</summary>
public sealed record ProgrammeSelected : Fault
{
    public required int Number { get; init; }
}

/// <summary>A person leaves a station empty when loading for the cycle that comes next.</summary>
public sealed record StationLeftEmpty : Fault
{
    public required int Station { get; init; }
}

/// <summary>Nothing gets through to the washer.</summary>
public sealed record ConnectionLoss : LinkFault
{
    public required TimeSpan Duration { get; init; }
}

public sealed record SlowReplies : LinkFault
{
    public required TimeSpan Duration { get; init; }

    public required TimeSpan Delay { get; init; }
}

/// <summary>The bridge's wall clock is set.</summary>
public sealed record ClockStep : LinkFault
{
    /// <summary>Positive: forwards.</summary>
    public required TimeSpan Shift { get; init; }
}

/// <summary>The bridge stops and starts again.</summary>
public sealed record BridgeRestart : LinkFault
{
    public required TimeSpan Duration { get; init; }

    /// <summary>Whether a clock that cannot be set connects the two sides; after a reboot none does.</summary>
    public bool ShiftKnown { get; init; } = true;

    /// <summary>By how much the wall clock was set meanwhile.</summary>
    public TimeSpan Shift { get; init; }
}
