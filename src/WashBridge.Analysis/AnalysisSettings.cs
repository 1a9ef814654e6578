using WashBridge.Analysis.Alarms;
using WashBridge.Analysis.Upkeep;
using WashBridge.Core.Recipes;

namespace WashBridge.Analysis;

/// <summary>All that the analysis of one washer must be told; the rest it learns.</summary>
public sealed record AnalysisSettings
{
    public required string Washer { get; init; }

    /// <summary>1 to 8.</summary>
    public required int Stations { get; init; }

    /// <summary>The promise: one false alarm of this washer, all its charts together, in so many cycles. 500 to 1,000,000.</summary>
    public double FalseAlarmEvery { get; init; } = 10_000;

    /// <summary>Also tell lasting changes that are smaller than what sensors may be off by, or that mean nothing to anybody.</summary>
    public bool TellSmallChanges { get; init; }

    /// <summary>The washer's own limit for a drain step; null: not known.</summary>
    public TimeSpan? DrainTimeout { get; init; }

    /// <summary>Failure limits that the user set, by index, in the index's unit; they go before the defaults.</summary>
    public IReadOnlyDictionary<string, double> Limits { get; init; } = new Dictionary<string, double>();

    /// <summary>When the site washes.</summary>
    public ShiftPattern Shifts { get; init; } = ShiftPattern.Always;

    /// <summary>When an alarm arises.</summary>
    public AlarmSettings Alarms { get; init; } = new();

    /// <summary>The approved recipes; null: settings are not watched.</summary>
    public ApprovedRecipes? Recipes { get; init; }
}
