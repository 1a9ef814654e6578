using System.Text.Json.Serialization;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;

namespace WashBridge.Core.Cycles;

/// <summary>
/// Something that happened at a washer, as the historian keeps it and followers forward it. Events are facts: they are never changed.
/// </summary>
[JsonPolymorphic(TypeDiscriminatorPropertyName = "kind")]
[JsonDerivedType(typeof(CycleStarted), "cycle-started")]
[JsonDerivedType(typeof(StepStarted), "step-started")]
[JsonDerivedType(typeof(StepEnded), "step-ended")]
[JsonDerivedType(typeof(DrainMeasured), "drain-measured")]
[JsonDerivedType(typeof(CyclePaused), "cycle-paused")]
[JsonDerivedType(typeof(CycleResumed), "cycle-resumed")]
[JsonDerivedType(typeof(CycleEnded), "cycle-ended")]
[JsonDerivedType(typeof(KegJudged), "keg-judged")]
[JsonDerivedType(typeof(KegScanned), "keg-scanned")]
[JsonDerivedType(typeof(SetpointChanged), "setpoint-changed")]
[JsonDerivedType(typeof(SourceLost), "source-lost")]
[JsonDerivedType(typeof(SourceRestored), "source-restored")]
[JsonDerivedType(typeof(ClockStepped), "clock-stepped")]
public abstract record WashEvent
{
    /// <summary>Unique, and the same whenever the same recording is read again.</summary>
    public required string Id { get; init; }

    public required string Washer { get; init; }

    /// <summary>When it can have happened.</summary>
    public required TimeBounds At { get; init; }

    /// <summary>The cycle it belongs to, or null.</summary>
    public string? CycleId { get; init; }
}

public sealed record CycleStarted : WashEvent
{
    public required Edge Edge { get; init; }

    public bool StartUnseen { get; init; }
}

public sealed record StepStarted : WashEvent
{
    public required string Phase { get; init; }

    public required PhaseKind PhaseKind { get; init; }

    public required int Pass { get; init; }

    public required StepKind Step { get; init; }

    public required Edge Edge { get; init; }
}

public sealed record StepEnded : WashEvent
{
    public required string Phase { get; init; }

    public required PhaseKind PhaseKind { get; init; }

    public required int Pass { get; init; }

    public required StepRecord Step { get; init; }
}

public sealed record DrainMeasured : WashEvent
{
    public required int Station { get; init; }

    public required DrainRecord Drain { get; init; }
}

public sealed record CyclePaused : WashEvent
{
    public required Edge Edge { get; init; }
}

public sealed record CycleResumed : WashEvent
{
    public required Pause Pause { get; init; }
}

public sealed record CycleEnded : WashEvent
{
    public required CycleRecord Cycle { get; init; }
}

public sealed record KegJudged : WashEvent
{
    public required KegVerdict Verdict { get; init; }
}

/// <summary>A person or a scanner told which keg is at a station.</summary>
public sealed record KegScanned : WashEvent
{
    public required int Station { get; init; }

    public required string KegId { get; init; }
}

public sealed record SetpointChanged : WashEvent
{
    public required string Setpoint { get; init; }

    public required string Unit { get; init; }

    public required double OldValue { get; init; }

    public required double NewValue { get; init; }
}

public sealed record SourceLost : WashEvent
{
    public required int Group { get; init; }

    public required string Reason { get; init; }
}

public sealed record SourceRestored : WashEvent
{
    public required int Group { get; init; }

    /// <summary>From the last good read before, to the first good read after.</summary>
    public required TimeBounds Gap { get; init; }
}

public sealed record ClockStepped : WashEvent
{
    /// <summary>Null: unknown, as after a reboot.</summary>
    public required TimeSpan? Shift { get; init; }

    public required string Reason { get; init; }
}
