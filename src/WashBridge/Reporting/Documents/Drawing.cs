namespace WashBridge.Reporting.Documents;

/// <summary>A simple picture as data: lengths in units of which 400 make the width of a page's text. Every writer draws the same shapes with its own pens.</summary>
internal sealed record Drawing(double Width, double Height, IReadOnlyList<Shape> Shapes);

/// <summary>What a line or an area stands for; told apart by form, not by colour alone.</summary>
internal enum Pen
{
    Ink = 0,
    Rule = 1,

    /// <summary>Dashed.</summary>
    Limit = 2,

    /// <summary>Dotted.</summary>
    Ahead = 3,

    /// <summary>Filled: certain.</summary>
    Certain = 4,

    /// <summary>Outlined: possible.</summary>
    Possible = 5,

    /// <summary>Hatched or crossed: nothing was seen.</summary>
    Unseen = 6,

    /// <summary>A broad line: an interval.</summary>
    Span = 7,
}

internal enum Anchor
{
    Start = 0,
    Middle = 1,
    End = 2,
}

internal abstract record Shape(Pen Pen);

internal sealed record Line(IReadOnlyList<(double X, double Y)> Points, Pen Pen) : Shape(Pen);

internal sealed record Box(double X, double Y, double Width, double Height, Pen Pen) : Shape(Pen);

internal sealed record Dot(double X, double Y, double Radius) : Shape(Pen.Ink);

/// <param name="X">Of the anchor.</param>
/// <param name="Y">Of the base line.</param>
internal sealed record Label(double X, double Y, string Text, Anchor Anchor = Anchor.Start, bool IsInverse = false) : Shape(Pen.Ink);
