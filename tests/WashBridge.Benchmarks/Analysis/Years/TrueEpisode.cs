using System.Text.Json.Serialization;
using WashBridge.Core.Time;
using WashBridge.Simulator.Faults;

namespace WashBridge.Benchmarks.Analysis.Years;

/// <summary>What went wrong.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<EpisodeKind>))]
public enum EpisodeKind
{
    CloggingValve = 0,
    StickingSensor = 1,
    LowAir = 2,
    LowCo2 = 3,

    /// <summary>Spray times set longer, or more water pressure: nothing is worn, yet drains take longer.</summary>
    MoreLiquid = 4,

    WornPump = 5,
    DosingTube = 6,
    DosingCheckValve = 7,
    Heater = 8,

    /// <summary>Its dosing is switched off, and it only gets weaker.</summary>
    WeakBath = 9,
}

/// <summary>Something that truly went wrong at a washer, from its first cycle to the work that put it right.</summary>
public sealed record TrueEpisode
{
    /// <summary>From 1, within the washer-year.</summary>
    public required int Number { get; init; }

    public required EpisodeKind Kind { get; init; }

    /// <summary>Key of the component that wore; empty where none of those that the analysis knows did.</summary>
    public required string Component { get; init; }

    /// <summary>1 to 8; 0: not of one station.</summary>
    public int Station { get; init; }

    /// <summary>Which bath, where it is of one.</summary>
    public BathKind? Bath { get; init; }

    /// <summary>Gets worse from cycle to cycle; otherwise it came at once and stayed as it was.</summary>
    public required bool IsGradual { get; init; }

    public WearPath Path { get; init; }

    /// <summary>Of the fault as it was injected.</summary>
    public double Initial { get; init; }

    public double PerCycle { get; init; }

    public double Spread { get; init; }

    /// <summary>What <see cref="Levels"/> measure, and their unit.</summary>
    public required string Level { get; init; }

    /// <summary>The level at which it counts as failed; null where the washer itself decides: the drain time-out, a bath that stays cold.</summary>
    public double? Limit { get; init; }

    /// <summary>The first cycle that it touched: the true cycle's number, from 1.</summary>
    public required int FirstCycle { get; init; }

    public required Instant FirstAt { get; init; }

    /// <summary>The cycle in which it truly failed; null: it did not before it was put right, or before the year ended.</summary>
    public int? FailureCycle { get; set; }

    public Instant? FailureAt { get; set; }

    /// <summary>The last cycle before it was put right; null: the year ended first.</summary>
    public int? RepairCycle { get; set; }

    public Instant? RepairAt { get; set; }

    /// <summary>Another episode that began at about the same time; 0: none.</summary>
    public int MixedWith { get; set; }

    /// <summary>Every tenth cycle of it, and the first.</summary>
    public IList<TrueLevel> Levels { get; init; } = [];
}

/// <param name="Cycle">The true cycle's number.</param>
/// <param name="Value">When it ended.</param>
public sealed record TrueLevel(int Cycle, double Value);
