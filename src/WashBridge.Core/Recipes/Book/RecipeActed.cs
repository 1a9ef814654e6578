using System.Text.Json.Serialization;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Time;

namespace WashBridge.Core.Recipes.Book;

/// <summary>What a person did to a version of a recipe.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<RecipeStep>))]
public enum RecipeStep
{
    /// <summary>Began a draft, or changed one.</summary>
    Drafted = 0,

    /// <summary>Gave the draft to be approved: from now on it does not change.</summary>
    Submitted = 1,
    Approved = 2,

    /// <summary>Did not approve what was submitted.</summary>
    Refused = 3,

    /// <summary>Took back a draft, or what was submitted.</summary>
    Withdrawn = 4,

    /// <summary>Called off an approved version before it came into force.</summary>
    Retired = 5,
}

/// <summary>A person did something to a version of a recipe. It is of the whole site: whichever washers use the recipe.</summary>
public sealed record RecipeActed : WashEvent, IRecord
{
    public required Act Act { get; init; }

    public required string RecipeId { get; init; }

    public required int Version { get; init; }

    public required RecipeStep Step { get; init; }

    /// <summary>The whole content, where it was drafted; null otherwise.</summary>
    public Recipe? Recipe { get; init; }

    /// <summary>Id of the event with the content that this one replaces; null: the draft begins.</summary>
    public string? Was { get; init; }

    /// <summary>Where it was approved: not in force before this. Null: from the last approval on.</summary>
    public Instant? From { get; init; }

    /// <summary>Where it was approved: how many different people had to approve it, 1 or 2, when this one did.</summary>
    public int? Approvals { get; init; }
}
