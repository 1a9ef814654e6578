namespace WashBridge.Core.Recipes.Book;

/// <summary>Which way a change goes, where it can be said without knowing any keg.</summary>
public enum Direction
{
    /// <summary>Asks the same: a title, or the value that a controller is set to.</summary>
    None = 0,

    /// <summary>Every keg that meets the new one would have met the old one.</summary>
    Stricter = 1,

    /// <summary>Some kegs that did not meet the old one can meet the new one.</summary>
    Looser = 2,

    /// <summary>Some of both, or it depends.</summary>
    Unclear = 3,
}

internal static class Directions
{
    public static Direction Together(IEnumerable<Direction> directions) => directions.Where(d => d != Direction.None).Distinct().ToList() switch
    {
        [] => Direction.None,
        [var one] => one,
        _ => Direction.Unclear,
    };

    /// <summary>A limit that rises asks for more.</summary>
    public static Direction More(double left, double right) => left == right ? Direction.None : right > left ? Direction.Stricter : Direction.Looser;

    /// <summary>A limit that rises asks for less.</summary>
    public static Direction Less(double left, double right) => More(right, left);

    /// <summary>More of these ask for more; the same in another order is something else.</summary>
    public static Direction MoreOf(IReadOnlyList<string> left, IReadOnlyList<string> right) =>
        left.SequenceEqual(right) ? Direction.None
        : IsWithin(left, right) ? Direction.Stricter
        : IsWithin(right, left) ? Direction.Looser
        : Direction.Unclear;

    public static Direction Opposite(Direction direction) => direction switch
    {
        Direction.Stricter => Direction.Looser,
        Direction.Looser => Direction.Stricter,
        _ => direction,
    };

    /// <summary>All of the shorter, in the same order, within the longer.</summary>
    private static bool IsWithin(IReadOnlyList<string> shorter, IReadOnlyList<string> longer)
    {
        var at = 0;
        foreach (var each in longer)
        {
            at += at < shorter.Count && shorter[at] == each ? 1 : 0;
        }

        return at == shorter.Count && longer.Count > shorter.Count;
    }
}
