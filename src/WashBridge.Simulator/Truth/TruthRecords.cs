using System.Text.Json.Serialization;
using WashBridge.Core.Cycles;

namespace WashBridge.Simulator.Truth;

[JsonConverter(typeof(JsonStringEnumConverter<TrueOutcome>))]
public enum TrueOutcome
{
    Completed = 0,

    /// <summary>A person stopped it.</summary>
    Aborted = 1,

    /// <summary>The drain time-out stopped it.</summary>
    Faulted = 2,

    /// <summary>Power or the controller was lost, and it did not go on.</summary>
    PowerLost = 3,
}

/// <summary>What really happened in one cycle. All times are virtual: exact, from the start of the simulation, undisturbed by any wall clock.</summary>
public sealed record TrueCycle
{
    public required string Washer { get; init; }

    /// <summary>From 1 since the start of the simulation.</summary>
    public required int Number { get; init; }

    /// <summary>What the controller's counter showed.</summary>
    public required long CycleCount { get; init; }

    public required int Programme { get; init; }

    /// <summary>The scan in which the first step appeared.</summary>
    public required TimeSpan Start { get; init; }

    /// <summary>The scan in which the controller went idle or to fault, or lost power. Null while it runs.</summary>
    public TimeSpan? End { get; set; }

    public TrueOutcome? Outcome { get; set; }

    public IList<TruePhase> Phases { get; } = [];

    public IList<TrueDrain> Drains { get; } = [];

    public IList<TruePause> Pauses { get; } = [];

    public required IReadOnlyList<TrueKeg> Kegs { get; init; }

    /// <summary>How worn everything was at its end. Null while it runs.</summary>
    public TrueHealth? Health { get; set; }

    /// <summary>All steps, in order.</summary>
    [JsonIgnore]
    public IEnumerable<TrueStep> Steps => Phases.SelectMany(p => p.Passes).SelectMany(p => p.Steps);
}

public sealed record TruePhase(string Id, PhaseKind Kind, TimeSpan Start)
{
    public TimeSpan? End { get; set; }

    public IList<TruePass> Passes { get; } = [];
}

/// <param name="Number">From 1.</param>
public sealed record TruePass(int Number)
{
    public IList<TrueStep> Steps { get; } = [];
}

/// <param name="Phase">Its phase.</param>
/// <param name="Pass">Its pass, from 1.</param>
/// <param name="Kind">What happens.</param>
/// <param name="Code">The step code, whether or not the washer sends it.</param>
/// <param name="Start">The scan in which the registers changed to it.</param>
public sealed record TrueStep(string Phase, int Pass, StepKind Kind, int Code, TimeSpan Start)
{
    /// <summary>The scan in which the registers changed away from it, or the loss of power.</summary>
    public TimeSpan? End { get; set; }

    /// <summary>Held by a person for this long of the time from start to end.</summary>
    [JsonConverter(typeof(SecondsConverter))]
    public TimeSpan Paused { get; set; }

    /// <summary>The programme was left in this step.</summary>
    public bool Interrupted { get; set; }

    /// <summary>Start to end less pauses; null while it runs.</summary>
    [JsonIgnore]
    public TimeSpan? Held => End - Start - Paused;
}

/// <param name="Start">The scan in which the registers showed it.</param>
public sealed record TruePause(TimeSpan Start)
{
    /// <summary>Null while it lasts.</summary>
    public TimeSpan? End { get; set; }
}

/// <summary>One drain at one station.</summary>
/// <param name="Station">1 to 8.</param>
/// <param name="Phase">Its phase.</param>
/// <param name="Pass">Its pass, from 1.</param>
/// <param name="Start">The scan in which the drain step began.</param>
/// <param name="LitresAtStart">In the keg then.</param>
/// <param name="Clogging">Share of the valve's opening that is lost, 0 to 1.</param>
public sealed record TrueDrain(int Station, string Phase, int Pass, TimeSpan Start, double LitresAtStart, double Clogging)
{
    /// <summary>The scan in which the controller's input first read dry; before the last drops it can read wet again.</summary>
    public TimeSpan? FirstDry { get; set; }

    /// <summary>The scan from which on the input read dry until the step ended; null if it did not at the end.</summary>
    public TimeSpan? Dry { get; set; }

    /// <summary>The scan after which nothing more than a film was left in the keg; null if more was.</summary>
    public TimeSpan? Emptied { get; set; }

    /// <summary>The scan in which the step ended.</summary>
    public TimeSpan? End { get; set; }
}

/// <param name="Station">1 to 8.</param>
/// <param name="Id">Its own id, whether or not the washer sends it.</param>
public sealed record TrueKeg(int Station, string Id)
{
    /// <summary>Volume fraction in its gas when the cycle ended.</summary>
    public double? Oxygen { get; set; }

    /// <summary>Left in it when the cycle ended.</summary>
    public double? Litres { get; set; }

    /// <summary>Hottest its shell was at the end of a step, Cel.</summary>
    public double HottestCel { get; set; }

    /// <summary>Delivered to it over the whole cycle, L.</summary>
    public double? Delivered { get; set; }
}
