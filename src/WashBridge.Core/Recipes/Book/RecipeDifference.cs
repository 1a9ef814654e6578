using WashBridge.Core.Verdicts;

namespace WashBridge.Core.Recipes.Book;

public enum LineChange
{
    Same = 0,
    Changed = 1,

    /// <summary>Only on the right.</summary>
    Added = 2,

    /// <summary>Only on the left.</summary>
    Gone = 3,
}

/// <summary>What a line of the comparison is of.</summary>
public enum LineKind
{
    /// <summary>Title and decision rule.</summary>
    General = 0,
    Requirement = 1,
    Setpoint = 2,
}

/// <summary>A requirement or setpoint on both sides.</summary>
/// <param name="Id">The requirement's id, or the setpoint's name.</param>
/// <param name="Name">For people.</param>
/// <param name="Left">In a sentence; null: not there.</param>
/// <param name="Right">In a sentence; null: not there.</param>
/// <param name="Changes">What is other, in sentences.</param>
public sealed record ComparedLine(LineKind Kind, string Id, string Name, LineChange Change, Direction Direction, string? Left, string? Right, IReadOnlyList<string> Changes);

/// <summary>Two versions of a recipe side by side.</summary>
/// <param name="Lines">In the order of the right one; what is gone comes where it was.</param>
public sealed record RecipeDifference(Recipe Left, Recipe Right, IReadOnlyList<ComparedLine> Lines)
{
    public bool IsSame => Lines.All(l => l.Change == LineChange.Same);

    /// <summary>Of all lines together.</summary>
    public Direction Direction => Directions.Together(Lines.Select(l => l.Direction));

    /// <summary>Some line asks for less, or may.</summary>
    public bool MayBeLooser => Lines.Any(l => l.Direction is Direction.Looser or Direction.Unclear);

    public static RecipeDifference Between(Recipe left, Recipe right)
    {
        ArgumentNullException.ThrowIfNull(left);
        ArgumentNullException.ThrowIfNull(right);
        return new RecipeDifference(left, right, [.. General(left, right), .. Requirements(left, right), .. Setpoints(left, right)]);
    }

    private static IEnumerable<ComparedLine> General(Recipe left, Recipe right)
    {
        if (left.Title != right.Title)
        {
            yield return new ComparedLine(LineKind.General, "title", "Title", LineChange.Changed, Direction.None, left.Title, right.Title, []);
        }

        if (left.Rule == right.Rule)
        {
            yield return new ComparedLine(LineKind.General, "decision", "Decision rule", LineChange.Same, Direction.None, RecipeWords.Of(left.Rule), RecipeWords.Of(right.Rule), []);
        }
        else
        {
            // A larger accepted risk calls more kegs met; between the two methods nothing can be said without the readings.
            var direction = left.Rule.Method == right.Rule.Method ? Directions.Less(left.Rule.Risk, right.Rule.Risk) : Direction.Unclear;
            yield return new ComparedLine(LineKind.General, "decision", "Decision rule", LineChange.Changed, direction, RecipeWords.Of(left.Rule), RecipeWords.Of(right.Rule), []);
        }
    }

    private static IEnumerable<ComparedLine> Requirements(Recipe left, Recipe right) =>
        Merge(left.Requirements, right.Requirements, r => r.Id).Select(pair => pair switch
        {
            (null, { } added) => new ComparedLine(LineKind.Requirement, added.Id, RecipeWords.Name(added), LineChange.Added, Direction.Stricter, null, RecipeWords.Of(added), []),
            ({ } gone, null) => new ComparedLine(LineKind.Requirement, gone.Id, RecipeWords.Name(gone), LineChange.Gone, Direction.Looser, RecipeWords.Of(gone), null, []),
            ({ } a, { } b) => Compared(a, b),
            _ => throw new InvalidOperationException("a line has a left or a right side"),
        });

    private static ComparedLine Compared(Requirement left, Requirement right)
    {
        var changes = RequirementDifference.Between(left, right);
        return new ComparedLine(
            LineKind.Requirement, right.Id, RecipeWords.Name(right), changes.Count == 0 ? LineChange.Same : LineChange.Changed, Directions.Together(changes.Select(c => c.Direction)),
            RecipeWords.Of(left), RecipeWords.Of(right), [.. changes.Select(c => c.Text)]);
    }

    private static IEnumerable<ComparedLine> Setpoints(Recipe left, Recipe right)
    {
        foreach (var name in left.Setpoints.Keys.Union(right.Setpoints.Keys).Order(StringComparer.Ordinal))
        {
            var (a, b) = (left.Setpoints.GetValueOrDefault(name), right.Setpoints.GetValueOrDefault(name));
            yield return (a, b) switch
            {
                (null, { } added) => new ComparedLine(LineKind.Setpoint, name, name, LineChange.Added, Direction.Stricter, null, RecipeWords.Of(added), []),
                ({ } gone, null) => new ComparedLine(LineKind.Setpoint, name, name, LineChange.Gone, Direction.Looser, RecipeWords.Of(gone), null, []),
                _ => Setpoint(name, a!, b!),
            };
        }
    }

    private static ComparedLine Setpoint(string name, ApprovedSetpoint left, ApprovedSetpoint right)
    {
        var changes = new List<string>();
        if (left.Value != right.Value || left.Unit != right.Unit)
        {
            changes.Add($"set to {Wording.Quantity(right.Value, right.Unit)} instead of {Wording.Quantity(left.Value, left.Unit)}");
        }

        if (left.Tolerance != right.Tolerance)
        {
            changes.Add($"may be off by {Wording.Quantity(right.Tolerance, right.Unit)} instead of {Wording.Quantity(left.Tolerance, left.Unit)}");
        }

        var direction = left.Unit != right.Unit ? Direction.Unclear : Directions.Less(left.Tolerance, right.Tolerance);
        return new ComparedLine(LineKind.Setpoint, name, name, changes.Count == 0 ? LineChange.Same : LineChange.Changed, direction, RecipeWords.Of(left), RecipeWords.Of(right), changes);
    }

    /// <summary>The right ones in their order, and those that are gone behind the one that they stood behind.</summary>
    private static List<(T? Left, T? Right)> Merge<T>(IReadOnlyList<T> left, IReadOnlyList<T> right, Func<T, string> id)
        where T : class
    {
        var merged = right.Select(r => (Left: left.FirstOrDefault(l => id(l) == id(r)), Right: (T?)r)).ToList();
        for (var i = 0; i < left.Count; i++)
        {
            if (right.All(r => id(r) != id(left[i])))
            {
                var before = i == 0 ? -1 : merged.FindIndex(m => m.Left is { } l && id(l) == id(left[i - 1]));
                merged.Insert(before + 1, (left[i], null));
            }
        }

        return merged;
    }
}
