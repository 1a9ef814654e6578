using System.Text.Json.Serialization;
using WashBridge.Core.Time;

namespace WashBridge.Analysis.Setpoints;

/// <summary>All that the watch remembers.</summary>
internal sealed record SetpointWatchState
{
    /// <summary>The programme of the last cycle.</summary>
    public int? Programme { get; set; }

    /// <summary>What was done to the washer's recipes, as the events' JSON, in order.</summary>
    public List<string> Acts { get; init; } = [];

    public SortedDictionary<string, SetpointState> Setpoints { get; init; } = new(StringComparer.Ordinal);
}

/// <summary>One setting of the controller.</summary>
internal sealed record SetpointState
{
    public double Value { get; set; }

    /// <summary>The change that brought this value, while it has not been held against the recipe.</summary>
    public SetpointChange? Open { get; set; }

    /// <summary>When it was last seen to change.</summary>
    public TimeBounds? ChangedAt { get; set; }

    /// <summary>The deviation that was told and not taken back: what it was set to, and what was approved.</summary>
    public double? ToldSet { get; set; }

    public double? ToldApproved { get; set; }
}

/// <param name="EventId">Of the event that told of it.</param>
/// <param name="At">When it happened.</param>
/// <param name="CycleId">The cycle in which it happened, or null.</param>
internal sealed record SetpointChange(string EventId, TimeBounds At, string? CycleId);

[JsonSourceGenerationOptions(PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase, DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull)]
[JsonSerializable(typeof(SetpointWatchState))]
internal sealed partial class SetpointJson : JsonSerializerContext;
