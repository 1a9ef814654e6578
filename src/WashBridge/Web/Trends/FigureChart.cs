using Microsoft.Extensions.Localization;
using WashBridge.Core.Drift;
using WashBridge.Core.Time;
using WashBridge.Reporting;
using WashBridge.Web.Charts;

namespace WashBridge.Web.Trends;

/// <summary>A figure cycle by cycle as a picture: each cycle a point, the middle of its neighbours a line, what was usual as a band, limits across, and what can have changed it upright.</summary>
internal sealed class FigureChart(IStringLocalizer<FigureChart> texts)
{
    /// <summary>Cycles whose median is drawn as the line: odd, so that one of them is it.</summary>
    public const int Neighbours = 9;

    /// <summary>So many spreads on both sides of usual hold nearly all cycles of a washer that is well (99.7 % were they normal).</summary>
    public const double UsualSpreads = 3;

    /// <param name="course">The figure.</param>
    /// <param name="drifts">Of this figure, those that ended too.</param>
    /// <param name="limits">In the figure's unit.</param>
    public ChartData Draw(FigureCourse course, IReadOnlyList<DriftLine> drifts, IReadOnlyList<FigureLimit> limits)
    {
        var points = course.Points;
        var (from, until) = points.Count > 0 ? (Place(points[0].At), Place(points[^1].At)) : (0, 1);
        until = until > from ? until : from + 1000;
        var at = points.Select(p => Place(p.At)).ToList();
        var unit = Units.Of(course.Unit);
        var series = new List<ChartSeries>
        {
            new() { Name = texts["each"], Unit = unit, At = at, Value = [.. points.Select(p => (double?)p.Value)], Form = "points" },
            new() { Name = texts["middle", Neighbours], Unit = unit, At = at, Value = [.. Middle(points.Select(p => p.Value).ToList()).Select(v => (double?)v)], Form = "line" },
        };
        if (drifts.LastOrDefault(d => d.Finding.Chart != ChartKind.Group)?.Finding is { } usual)
        {
            var width = UsualSpreads * usual.Spread;
            series.Add(new ChartSeries
            {
                Name = texts["usual"], Unit = unit, At = [from, until], Value = [usual.Centre, usual.Centre], Low = [usual.Centre - width, usual.Centre - width], High = [usual.Centre + width, usual.Centre + width], Form = "line", Dashed = true,
            });
        }

        var lines = limits.Select(l => new ChartLimit(texts["limit." + l.Origin, (AnalysisWords.Number(l.Value) + " " + unit).TrimEnd(), l.Source], unit, l.Value)).ToList();
        lines.AddRange(course.Marks.Where(m => Place(m.At) >= from && Place(m.At) <= until).Select(m => new ChartLimit(Label(m), unit, At: Place(m.At))));
        return new ChartData
        {
            From = from,
            Until = until,
            Series = series,
            Limits = lines,
            Spans = [.. drifts.Where(d => Place(d.Finding.Onset.Latest) >= from).Select(d => new ChartSpan(Math.Max(from, Place(d.Finding.Onset.Earliest)), Place(d.Finding.Onset.Latest), texts["onset"], "uncertain"))],
        };
    }

    public string Label(CourseMark mark) => mark.Work is { } work ? texts["work." + work.Work, work.Component.Key] : texts["recipe", mark.Recipe!];

    /// <summary>Medians of neighbours; at the ends of as many as there are.</summary>
    public static IReadOnlyList<double> Middle(IReadOnlyList<double> values)
    {
        var half = Neighbours / 2;
        return
        [
            .. values.Select((_, i) =>
            {
                var near = values.Skip(Math.Max(0, i - half)).Take(Math.Min(values.Count - 1, i + half) - Math.Max(0, i - half) + 1).Order().ToList();
                return near.Count % 2 == 1 ? near[near.Count / 2] : (near[(near.Count / 2) - 1] + near[near.Count / 2]) / 2;
            }),
        ];
    }

    private static double Place(Instant at) => ChartData.Milliseconds(at);
}
