using System.Globalization;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Pictures;

/// <summary>A figure against time or cycles, with its limit and, where there is one, the forecast of when it reaches it.</summary>
internal sealed record CoursePicture
{
    private const double Width = 400;
    private const double Height = 150;
    private const double Left = 44;
    private const double Right = 8;
    private const double Top = 16;
    private const double Bottom = 26;

    /// <summary>More points are thinned: on paper nobody sees them.</summary>
    private const int MostPoints = 400;

    /// <summary>Stands for the picture where it cannot be seen.</summary>
    public required string Title { get; init; }

    /// <summary>What is drawn upwards, with its unit.</summary>
    public required string Upwards { get; init; }

    /// <summary>What is drawn to the right, with its unit.</summary>
    public required string Along { get; init; }

    /// <summary>In order along the axis, one at least. A gap ends a line.</summary>
    public required IReadOnlyList<IReadOnlyList<(double X, double Y)>> Courses { get; init; }

    public double? Limit { get; init; }

    /// <summary>Where the limit is reached: middle, and the interval; null where nothing says so.</summary>
    public double? Reached { get; init; }

    public (double From, double To)? ReachedWithin { get; init; }

    public Picture Draw()
    {
        var points = Courses.SelectMany(c => c).ToList();
        var last = points[^1];

        // A far end of the interval would press the course into a corner: it may reach out three times as far as the middle.
        double[] ahead = Reached is { } reach ? [reach, Math.Min(ReachedWithin?.To ?? reach, last.X + (3 * (reach - last.X)))] : [];
        var (from, to) = Range([.. points.Select(p => p.X), .. ahead], 0);
        var (low, high) = Range([.. points.Select(p => p.Y), .. Limit is { } l ? [l] : Array.Empty<double>()], 0.1);
        double X(double x) => Left + (Math.Clamp((x - from) / (to - from), 0, 1) * (Width - Left - Right));
        double Y(double y) => Height - Bottom - ((y - low) / (high - low) * (Height - Top - Bottom));

        var shapes = new List<Shape>
        {
            new Line([(Left, Top), (Left, Height - Bottom), (Width - Right, Height - Bottom)], Pen.Rule),
            new Label(0, 9, Upwards),
            new Label(Width - Right, Height - 2, Along, Anchor.End),
            new Label(Left - 4, Y(low), Short(low), Anchor.End),
            new Label(Left - 4, Y(high) + 8, Short(high), Anchor.End),
            new Label(Left, Height - Bottom + 11, Short(from)),
            new Label(Width - Right, Height - Bottom + 11, Short(to), Anchor.End),
        };
        if (Limit is { } limit)
        {
            shapes.Add(new Line([(Left, Y(limit)), (Width - Right, Y(limit))], Pen.Limit));
            shapes.Add(new Label(Width - Right, Y(limit) - 3, $"limit {Short(limit)}", Anchor.End));
            if (Reached is { } at)
            {
                shapes.Add(new Line([(X(last.X), Y(last.Y)), (X(at), Y(limit))], Pen.Ahead));
            }

            if (ReachedWithin is { } within)
            {
                shapes.Add(new Line([(X(within.From), Y(limit)), (X(within.To), Y(limit))], Pen.Span));
            }
        }

        foreach (var course in Courses)
        {
            var every = Math.Max(1, (int)Math.Ceiling(course.Count / (double)MostPoints));
            shapes.Add(new Line([.. course.Where((_, i) => i % every == 0 || i == course.Count - 1).Select(p => (X(p.X), Y(p.Y)))], Pen.Ink));
        }

        shapes.Add(new Dot(X(last.X), Y(last.Y), 2.5));
        return new Picture(Title, new Drawing(Width, Height, shapes));
    }

    private static (double Low, double High) Range(IReadOnlyList<double> values, double margin)
    {
        var (low, high) = (values.Min(), values.Max());
        var width = high > low ? high - low : Math.Max(1, Math.Abs(high));
        return high > low ? (low - (margin * width), high + (margin * width)) : (low - (width / 2), high + (width / 2));
    }

    private static string Short(double number) => Math.Abs(number) >= 100 ? number.ToString("0", CultureInfo.InvariantCulture) : number.ToString("0.##", CultureInfo.InvariantCulture);
}
