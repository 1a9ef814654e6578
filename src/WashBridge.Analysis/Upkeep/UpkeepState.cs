using System.Text.Json.Serialization;
using WashBridge.Analysis.Statistics;
using WashBridge.Analysis.Upkeep.Health;
using WashBridge.Core.Time;

namespace WashBridge.Analysis.Upkeep;

/// <summary>All that the watch remembers.</summary>
internal sealed record UpkeepState
{
    public required string Recipe { get; init; }

    public Instant? LastEnd { get; init; }

    public required SortedDictionary<string, Instant> LastDosed { get; init; }

    public required SortedDictionary<string, DosingRun> Dosing { get; init; }

    public required int Cycle { get; init; }

    public required SortedDictionary<string, FeatureNorm> Norms { get; init; }

    /// <summary>The drain indices' own snapshots, by station.</summary>
    public required List<string> Drains { get; init; }

    public required List<Instant> PaceEnds { get; init; }

    public required int PaceSince { get; init; }

    public required List<ComponentTrack> Tracks { get; init; }

    public required SortedDictionary<string, List<Lifetime>> Lives { get; init; }

    public required SortedSet<string> Drifts { get; init; }
}

[JsonSourceGenerationOptions(
    PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase,
    DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
    NumberHandling = JsonNumberHandling.AllowNamedFloatingPointLiterals)]
[JsonSerializable(typeof(UpkeepState))]
internal sealed partial class UpkeepJson : JsonSerializerContext;
