using System.Text.Json.Serialization;
using WashBridge.Core.Recipes;

namespace WashBridge.Core.Verdicts;

[JsonConverter(typeof(JsonStringEnumConverter<Verdict>))]
public enum Verdict
{
    Met = 0,
    NotMet = 1,
    NotProven = 2,
}

[JsonConverter(typeof(JsonStringEnumConverter<KegIdSource>))]
public enum KegIdSource
{
    /// <summary>From the controller (<c>keg.id</c>).</summary>
    Tag = 0,

    /// <summary>From a scan that was posted.</summary>
    Scan = 1,

    /// <summary>Made from washer, cycle and station, because nothing told the keg's own.</summary>
    Made = 2,
}

/// <summary>What one requirement came to for one keg, with its evidence.</summary>
public sealed record RequirementResult
{
    public required string Requirement { get; init; }

    public required Verdict Verdict { get; init; }

    /// <summary>The measured interval, in <see cref="Unit"/>; null where nothing was measured. Null upper with a set lower: open.</summary>
    public double? Lower { get; init; }

    public double? Upper { get; init; }

    /// <summary>Best estimate, and its standard uncertainty after the GUM, for the reader beside the bounds; null where there is none.</summary>
    public double? Estimate { get; init; }

    public double? StandardUncertainty { get; init; }

    /// <summary>The limit that decided, in <see cref="Unit"/>; null for limits that are no number.</summary>
    public double? Limit { get; init; }

    public string Unit { get; init; } = "";

    /// <summary>One sentence for a person: what was measured or missing, and against which limit.</summary>
    public required string Evidence { get; init; }
}

/// <summary>Whether one keg had all that its recipe asks. It is evidence for a person's release decision, not the decision.</summary>
public sealed record KegVerdict
{
    public required string KegId { get; init; }

    public required KegIdSource KegIdSource { get; init; }

    public required string CycleId { get; init; }

    public required string Washer { get; init; }

    public required int Station { get; init; }

    public required string Recipe { get; init; }

    public required int RecipeVersion { get; init; }

    public required DecisionRule Rule { get; init; }

    /// <summary>Not met if any requirement is; else not proven if any is; else met.</summary>
    public required Verdict Verdict { get; init; }

    public required IReadOnlyList<RequirementResult> Results { get; init; }
}
