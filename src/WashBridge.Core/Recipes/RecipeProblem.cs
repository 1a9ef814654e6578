namespace WashBridge.Core.Recipes;

/// <summary>What is wrong with one field of a recipe.</summary>
public enum RecipeProblemKind
{
    /// <summary>A name that the programme or the catalogue does not have.</summary>
    Unknown = 0,

    /// <summary>A field that must be given is not.</summary>
    Missing = 1,

    /// <summary>A number outside its range.</summary>
    OutOfRange = 2,

    /// <summary>Two fields that cannot both hold.</summary>
    Contradiction = 3,

    /// <summary>A name used twice, or kept for another use.</summary>
    Duplicate = 4,
}

/// <summary>One fault of a recipe, for the person who wrote it.</summary>
/// <param name="Kind">What is wrong.</param>
/// <param name="Path">Where, as <c>requirements[2].from.phase</c>.</param>
/// <param name="Found">The value found.</param>
/// <param name="Allowed">What is allowed instead.</param>
public sealed record RecipeProblem(RecipeProblemKind Kind, string Path, string Found, string Allowed)
{
    public override string ToString() => $"{Path}: found {Found}, allowed: {Allowed}";
}
