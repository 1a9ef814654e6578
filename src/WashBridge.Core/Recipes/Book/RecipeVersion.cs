using WashBridge.Core.Time;

namespace WashBridge.Core.Recipes.Book;

/// <summary>How far a version of a recipe has come.</summary>
public enum RecipeState
{
    /// <summary>From a file of the configuration: in force where no approved version is.</summary>
    Configured = 0,

    /// <summary>Being written.</summary>
    Draft = 1,

    /// <summary>To be approved; nobody changes it any more.</summary>
    Submitted = 2,

    /// <summary>Approved by all that the site asks for; in force from its date on, until a later one is.</summary>
    Approved = 3,
    Refused = 4,
    Withdrawn = 5,

    /// <summary>Approved, and called off before it came into force.</summary>
    Retired = 6,
}

/// <summary>One version of a recipe with all that was done to it.</summary>
public sealed record RecipeVersion
{
    /// <summary>As it stands: for a draft, as last changed.</summary>
    public required Recipe Recipe { get; init; }

    public required RecipeState State { get; init; }

    /// <summary>All that was done, in order; empty for what is only configured. Every earlier content of a draft is among it.</summary>
    public IReadOnlyList<RecipeActed> Acts { get; init; } = [];

    /// <summary>For an approved version: from when on cycles that begin are judged with it.</summary>
    public Instant? From { get; init; }

    /// <summary>For a version that is or was in force: when the next one comes into force; null: none is approved.</summary>
    public Instant? Until { get; init; }

    public string Id => Recipe.Id;

    public int Number => Recipe.Version;

    public IEnumerable<RecipeActed> Drafts => Acts.Where(a => a.Step == RecipeStep.Drafted);

    public IEnumerable<RecipeActed> ApprovalActs => Acts.Where(a => a.Step == RecipeStep.Approved);

    /// <summary>Everybody who wrote any of it.</summary>
    public IEnumerable<string> Authors => Drafts.Select(d => d.Act.By).Distinct(StringComparer.OrdinalIgnoreCase);

    /// <summary>Whether a cycle that began at this instant is judged with it, where it is approved.</summary>
    public bool IsInForce(Instant at) => State == RecipeState.Approved && From <= at && !(Until <= at);
}
