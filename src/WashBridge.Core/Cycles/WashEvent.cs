using System.Text.Json.Serialization;
using WashBridge.Core.Alarms;
using WashBridge.Core.Drift;
using WashBridge.Core.Features;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;
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
[JsonDerivedType(typeof(CycleMeasured), "cycle-measured")]
[JsonDerivedType(typeof(DriftFound), "drift-found")]
[JsonDerivedType(typeof(DriftEnded), "drift-ended")]
[JsonDerivedType(typeof(SetpointDeviated), "setpoint-deviated")]
[JsonDerivedType(typeof(SetpointConformed), "setpoint-conformed")]
[JsonDerivedType(typeof(ForecastMade), "forecast-made")]
[JsonDerivedType(typeof(MaintenanceRecorded), "maintenance-recorded")]
[JsonDerivedType(typeof(ForecastScored), "forecast-scored")]
[JsonDerivedType(typeof(AlarmChanged), "alarm-changed")]
[JsonDerivedType(typeof(AlarmOrdered), "alarm-ordered")]
[JsonDerivedType(typeof(AlarmOrderRefused), "alarm-order-refused")]
[JsonDerivedType(typeof(TimePassed), "time-passed")]
[JsonDerivedType(typeof(KegDecided), "keg-decided")]
[JsonDerivedType(typeof(KegInspected), "keg-inspected")]
[JsonDerivedType(typeof(LotSampled), "lot-sampled")]
[JsonDerivedType(typeof(TitrationRecorded), "titration-recorded")]
[JsonDerivedType(typeof(BathChanged), "bath-changed")]
[JsonDerivedType(typeof(RecordCorrected), "record-corrected")]
[JsonDerivedType(typeof(AccountChanged), "account-changed")]
[JsonDerivedType(typeof(RecipeActed), "recipe-acted")]
[JsonDerivedType(typeof(KegRejudged), "keg-rejudged")]
public abstract record WashEvent
{
    /// <summary>Stands as <see cref="Washer"/> for the whole site, in records that are of no washer.</summary>
    public const string WholeSite = "*";

    /// <summary>Unique, and the same whenever the same recording is read again.</summary>
    public required string Id { get; init; }

    /// <summary>The washer's id, or <see cref="WholeSite"/>.</summary>
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

public sealed record KegJudged : WashEvent, IAboutKegs
{
    public required KegVerdict Verdict { get; init; }

    [JsonIgnore]
    public IReadOnlyList<string> Kegs => [Verdict.KegId];
}

/// <summary>A person or a scanner told which keg is at a station.</summary>
public sealed record KegScanned : WashEvent, IRecord, IAboutKegs
{
    public required int Station { get; init; }

    public required string KegId { get; init; }

    /// <summary>Who scanned or typed it; null: nobody said.</summary>
    public string? By { get; init; }

    public Entered? Entered { get; init; }

    [JsonIgnore]
    public Act Act => Records.Entered.Act(By ?? "", "", Entered);

    [JsonIgnore]
    public IReadOnlyList<string> Kegs => [KegId];
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
    /// <summary>Null: unknown, as after a reboot. Not required: what is null is not written, and must be read back.</summary>
    public TimeSpan? Shift { get; init; }

    public required string Reason { get; init; }
}

/// <summary>The figures of a cycle that ended. All analysis starts from these.</summary>
public sealed record CycleMeasured : WashEvent
{
    public required CycleFeatures Features { get; init; }
}

public sealed record DriftFound : WashEvent
{
    public required DriftFinding Finding { get; init; }
}

/// <summary>A figure is back within its reference, or the reference was begun anew.</summary>
public sealed record DriftEnded : WashEvent
{
    /// <summary>As in <see cref="DriftFinding.Feature"/>.</summary>
    public required string Feature { get; init; }

    public required string Reason { get; init; }
}

/// <summary>The controller is set to something else than the recipe approves.</summary>
public sealed record SetpointDeviated : WashEvent
{
    public required SetpointFinding Finding { get; init; }
}

/// <summary>The controller is set as the recipe approves again.</summary>
public sealed record SetpointConformed : WashEvent
{
    public required string Setpoint { get; init; }
}

public sealed record ForecastMade : WashEvent
{
    public required Forecast Forecast { get; init; }
}

/// <summary>A person did something to a component.</summary>
public sealed record MaintenanceRecorded : WashEvent, IRecord
{
    public required Component Component { get; init; }

    public required MaintenanceKind Work { get; init; }

    /// <summary>Who did it.</summary>
    public required string By { get; init; }

    public string Note { get; init; } = "";

    /// <summary>The component had failed, so that its life ended; false: it was still working, and its life is only known to be longer.</summary>
    public bool HadFailed { get; init; }

    public Entered? Entered { get; init; }

    [JsonIgnore]
    public Act Act => Records.Entered.Act(By, Note, Entered);
}

public sealed record ForecastScored : WashEvent
{
    public required ForecastScore Score { get; init; }
}

public sealed record AlarmChanged : WashEvent
{
    /// <summary>Unique at the washer, such as <c>drain-valve@2</c> or <c>setpoint/sanitise.hold</c>.</summary>
    public required string Alarm { get; init; }

    public required AlarmState From { get; init; }

    public required AlarmState To { get; init; }

    public required AlarmPriority Priority { get; init; }

    public required AlarmText Text { get; init; }

    /// <summary>Since when the condition holds; null once it does not.</summary>
    public Instant? Since { get; init; }

    /// <summary>Who ordered it; null where it came of itself.</summary>
    public string? By { get; init; }

    public string? Reason { get; init; }

    /// <summary>End of shelving.</summary>
    public Instant? Until { get; init; }

    /// <summary>How many changes of this alarm at the same instant came before it, so that whoever sorts by time keeps their order; null: none.</summary>
    public int? Turn { get; init; }
}

public sealed record AlarmOrdered : WashEvent, IRecord
{
    public required AlarmOrder Order { get; init; }

    public Entered? Entered { get; init; }

    [JsonIgnore]
    public Act Act => Records.Entered.Act(Order.By, Order.Reason, Entered);
}

/// <summary>An order that could not be followed: nothing changed.</summary>
public sealed record AlarmOrderRefused : WashEvent
{
    public required AlarmOrder Order { get; init; }

    /// <summary>What was found and what is allowed.</summary>
    public required string Problem { get; init; }
}

/// <summary>
/// Nothing else was told of the washer for a while, though the bridge was there. Delays and shelvings end by the time that events carry, and this
/// carries it on through a quiet night or an outage.
/// </summary>
public sealed record TimePassed : WashEvent;
