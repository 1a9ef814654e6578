using System.Text.Json.Serialization;
using WashBridge.Core.Cycles;
using WashBridge.Core.Verdicts;

namespace WashBridge.Core.Records;

/// <summary>
/// A person had a washing judged again with another version of the recipe, from the same readings. It stands beside the verdict that was reached when the keg was
/// washed and never takes its place: decisions about the keg go by that one.
/// </summary>
public sealed record KegRejudged : WashEvent, IRecord, IAboutKegs
{
    public required Act Act { get; init; }

    /// <summary>By the other version.</summary>
    public required KegVerdict Verdict { get; init; }

    /// <summary>Tells the content of that version from any other: see <c>RecipeContent.Fingerprint</c>.</summary>
    public required string Fingerprint { get; init; }

    /// <summary>The verdict that it is compared with, and the event that holds it.</summary>
    public required Verdict Was { get; init; }

    public required string WasId { get; init; }

    public required string WasRecipe { get; init; }

    public required int WasVersion { get; init; }

    [JsonIgnore]
    public IReadOnlyList<string> Kegs => [Verdict.KegId];
}
