using WashBridge.Core.Upkeep;
using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Truth;

namespace WashBridge.Benchmarks.Analysis.Years;

/// <summary>An episode that was drawn: what brings it about, what puts it right, and how far it is.</summary>
internal sealed record EpisodeCourse
{
    public required EpisodeKind Kind { get; init; }

    public Component? Component { get; init; }

    public int Station { get; init; }

    public BathKind? Bath { get; init; }

    public required bool IsGradual { get; init; }

    /// <summary>Cycles that it is meant to take to its limit, or, at once, to last.</summary>
    public required int Cycles { get; init; }

    /// <summary>From the first cycle's number.</summary>
    public required Func<int, IReadOnlyList<Fault>> Begin { get; init; }

    /// <summary>What puts it right, at a time.</summary>
    public required Func<When, IReadOnlyList<Fault>> PutRight { get; init; }

    public MaintenanceKind Work { get; init; }

    /// <summary>What the level is, for people.</summary>
    public required string LevelTitle { get; init; }

    public required Func<TrueHealth, double> Level { get; init; }

    /// <summary>Null: the washer decides.</summary>
    public double? Limit { get; init; }

    /// <summary>Level at which, if nothing else does, somebody puts it right; from 0.4 to 0.9 of the limit for work that comes early.</summary>
    public double EarlyAt { get; init; } = double.PositiveInfinity;

    /// <summary>Cycles between the failure and its repair.</summary>
    public int Delay { get; init; }

    public bool IsOfDrains => Kind is EpisodeKind.CloggingValve or EpisodeKind.StickingSensor;
}
