using System.Globalization;

namespace WashBridge.Web.Pages.Cycles;

/// <summary>A lane as it is drawn.</summary>
/// <param name="Levels">For each limit of the lane, on which level below the bars it lies.</param>
internal sealed record LaneBox(StripLane Lane, double Top, double BarHeight, double Height, IReadOnlyList<int> Levels);

/// <summary>Sizes of a strip in units of 1/16 rem, so that it grows with the letters of the page.</summary>
internal sealed class StripPicture
{
    public const double AxisHeight = 26;
    public const double LevelHeight = 17;
    private const double Gap = 6;
    private const double LetterWidth = 6.6;

    private static readonly int[] Steps = [1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1800, 3600];

    public StripPicture(CycleStrip strip, int zoom)
    {
        Strip = strip;
        Scale = Math.Clamp(1150 / strip.Length, 0.25, 12) * zoom;
        var top = AxisHeight;
        foreach (var lane in strip.Lanes)
        {
            var bar = lane.Kind switch { "phases" => 34.0, "passes" => 18, "steps" => 30, _ => 22 };
            var levels = Levels(lane.Limits);
            var height = bar + (levels.DefaultIfEmpty(-1).Max() + 1) * LevelHeight;
            Boxes.Add(new LaneBox(lane, top, bar, height, levels));
            top += height + Gap;
        }

        Height = top;
    }

    public CycleStrip Strip { get; }

    /// <summary>Units a second.</summary>
    public double Scale { get; }

    public double Width => Math.Ceiling(Strip.Length * Scale) + 24;

    public double Height { get; }

    public List<LaneBox> Boxes { get; } = [];

    public double X(double seconds) => seconds * Scale;

    /// <summary>Seconds at which the axis has a mark.</summary>
    public IEnumerable<int> Ticks()
    {
        var step = Steps.FirstOrDefault(s => s * Scale >= 60, Steps[^1]);
        for (var at = 0; at <= Strip.Length; at += step)
        {
            yield return at;
        }
    }

    /// <summary>A label stands in a bar where it fits.</summary>
    public bool Fits(string label, double width) => label.Length * LetterWidth + 6 <= width;

    public static string Of(double number) => number.ToString("0.##", CultureInfo.InvariantCulture);

    public static string Rem(double units) => (units / 16).ToString("0.###", CultureInfo.InvariantCulture) + "rem";

    /// <summary>Marks that would lie on each other take a level each.</summary>
    private List<int> Levels(IReadOnlyList<StripLimit> limits)
    {
        var ends = new List<double>();
        var levels = new List<int>();
        foreach (var limit in limits)
        {
            var (from, until) = (X(limit.From), Math.Max(X(limit.Until) + (limit.Short.Length * LetterWidth) + 8, X(limit.From) + 4));
            var level = ends.FindIndex(e => e <= from);
            if (level < 0)
            {
                level = ends.Count;
                ends.Add(0);
            }

            ends[level] = until;
            levels.Add(level);
        }

        return levels;
    }
}
