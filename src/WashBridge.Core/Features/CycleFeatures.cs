using System.Text.Json.Serialization;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;

namespace WashBridge.Core.Features;

/// <summary>All figures of one cycle that ended, and what is needed to say whom they concern.</summary>
public sealed record CycleFeatures
{
    public required CycleOutcome Outcome { get; init; }

    public required Instant Started { get; init; }

    public required Instant Ended { get; init; }

    /// <summary>The recipe that was in force, by id and version; a change of either begins a new reference period.</summary>
    public required string Recipe { get; init; }

    public required int RecipeVersion { get; init; }

    public int? Programme { get; init; }

    /// <summary>By station.</summary>
    public required IReadOnlyList<WashedKeg> Kegs { get; init; }

    /// <summary>In a fixed order: by name, then station, ordinal.</summary>
    [JsonConverter(typeof(FiguresJsonConverter))]
    public required IReadOnlyList<Feature> Figures { get; init; }
}

/// <param name="Station">1 to 8.</param>
/// <param name="KegId">As in the keg's verdict.</param>
public sealed record WashedKeg(int Station, string KegId);
