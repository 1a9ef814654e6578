using System.Text.Json.Serialization;
using WashBridge.Core.Time;

namespace WashBridge.Core.Cycles;

[JsonConverter(typeof(JsonStringEnumConverter<CycleOutcome>))]
public enum CycleOutcome
{
    /// <summary>The last phase ran and the controller went idle.</summary>
    Completed = 0,

    /// <summary>The controller went idle, or to fault, before the last phase of the programme ended.</summary>
    Aborted = 1,

    /// <summary>Nobody saw the end: a gap covers it, or the last steps can have been too short for the polls.</summary>
    EndUnseen = 2,
}

/// <summary>One run of the programme on the kegs loaded: what was seen, with bounds on every edge.</summary>
public sealed record CycleRecord
{
    /// <summary>Washer and start time, as <c>w1-20310305T081502.250</c>: the same recording gives the same id.</summary>
    public required string Id { get; init; }

    public required string Washer { get; init; }

    public required Edge Start { get; init; }

    public required Edge End { get; init; }

    public required CycleOutcome Outcome { get; init; }

    /// <summary>The first step seen was already running when watching (re)started: its start, and what came before it, were not seen.</summary>
    public bool StartUnseen { get; init; }

    /// <summary><c>sequence.programme</c> at the start, where the map has it.</summary>
    public int? Programme { get; init; }

    /// <summary><c>sequence.cycle-count</c> at the start, where the map has it.</summary>
    public long? CycleCount { get; init; }

    public required IReadOnlyList<PhaseRecord> Phases { get; init; }

    public required IReadOnlyList<StationRecord> Stations { get; init; }

    /// <summary>Stretches in which the sequence could not be read for longer than the washer's gap limit.</summary>
    public required IReadOnlyList<TimeBounds> Gaps { get; init; }

    /// <summary>When the programme was paused, with bounds on both edges.</summary>
    public required IReadOnlyList<Pause> Pauses { get; init; }

    /// <summary>Setpoint signals as they stood at the start, by name, in the units of the map.</summary>
    public IReadOnlyDictionary<string, double> Setpoints { get; init; } = new Dictionary<string, double>();
}

public sealed record Pause(Edge Start, Edge End, DurationBounds Duration);

/// <summary>A phase as it ran: from the start of its first step to the end of its last.</summary>
public sealed record PhaseRecord(string Id, PhaseKind Kind, Edge Start, Edge End, DurationBounds Duration, IReadOnlyList<PassRecord> Passes);

/// <summary>One repeat of a phase.</summary>
/// <param name="Number">From 1.</param>
public sealed record PassRecord(int Number, IReadOnlyList<StepRecord> Steps);

/// <summary>A step as it ran.</summary>
public sealed record StepRecord
{
    public required StepKind Kind { get; init; }

    public required Edge Start { get; init; }

    public required Edge End { get; init; }

    /// <summary>
    /// How long the step ran without interruption. The lower bound is the longest stretch that was watched without a gap;
    /// the upper bound runs from the earliest start to the latest end. Pauses are not part of it where they are known.
    /// </summary>
    public required DurationBounds Held { get; init; }

    /// <summary>False for a step that the programme demands between two steps seen, but that nobody saw.</summary>
    public bool Seen { get; init; } = true;

    /// <summary>The controller left its place in the programme by a fault or an abort during this step.</summary>
    public bool Interrupted { get; init; }
}

/// <summary>What a cycle was for one station.</summary>
public sealed record StationRecord
{
    /// <summary>1 to 8.</summary>
    public required int Station { get; init; }

    /// <summary>Whether a keg was there: null where the map has no <c>keg.present</c> and no id came; then one is assumed and the record says so.</summary>
    public bool? KegPresent { get; init; }

    /// <summary>The keg's id from <c>keg.id</c>, as last seen good within the cycle; null where the map has none.</summary>
    public string? KegTag { get; init; }

    public required IReadOnlyList<DrainRecord> Drains { get; init; }
}

/// <summary>One drain at one station: from the start of a drain step until the drain sensor reads dry.</summary>
/// <param name="Phase">Id of the phase.</param>
/// <param name="Pass">From 1.</param>
/// <param name="Start">Start of the drain step.</param>
/// <param name="Dry">When the sensor read dry; null if it never did within the step.</param>
/// <param name="Time">Drain time; for a drain that was never seen dry the lower bound is the step's and the upper bound is open.</param>
/// <param name="Shared">One sensor serves all stations: the time is that of the slowest.</param>
public sealed record DrainRecord(string Phase, int Pass, Edge Start, Edge? Dry, DurationBounds Time, bool Shared);
