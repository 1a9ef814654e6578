using ScottPlot;
using WashBridge.Benchmarks.Analysis.Charts;
using WashBridge.Benchmarks.Analysis.Forecasts;

namespace WashBridge.Benchmarks.Analysis.Results;

/// <summary>The pictures of the results page.</summary>
internal static class Pictures
{
    private const int Width = 1100;
    private const int Height = 420;

    /// <summary>False alarms over those promised, by promise; the band is what the promise allows.</summary>
    public static void Promise(IReadOnlyList<PromiseResult> promises, string path)
    {
        var plot = new Plot();
        plot.Add.VerticalSpan(0.8, 1.2).FillColor = Colors.Gray.WithAlpha(0.15);
        foreach (var group in promises.GroupBy(p => p.Level))
        {
            var points = group.OrderBy(p => p.Every).ToList();
            var scatter = plot.Add.ScatterPoints(points.Select(p => Math.Log10(p.Every)).ToArray(), points.Select(p => p.Ratio).ToArray());
            scatter.LegendText = $"by {group.Key}";
            scatter.MarkerShape = group.Key == "washer" ? MarkerShape.FilledDiamond : MarkerShape.OpenCircle;
            scatter.MarkerSize = 8;
        }

        Ticks(plot, [3, 4, 5, 5.69897], ["1,000", "10,000", "100,000", "500,000"]);
        Finish(plot, "False alarms over those promised (1: as promised)", "promise: one false alarm in so many cycles", "ratio", path);
    }

    public static void Delay(IReadOnlyList<DelayResult> delays, string path)
    {
        var plot = new Plot();
        foreach (var group in delays.Where(d => d.Step > 0).GroupBy(d => (d.Every, d.Reference)).Where(g => g.Key.Reference == 2000))
        {
            var points = group.OrderBy(d => d.Step).ToList();
            var line = plot.Add.Scatter(points.Select(d => d.Step).ToArray(), points.Select(d => d.Ratio).ToArray());
            line.LegendText = $"one in {MarkdownTable.Count(group.Key.Every)}";
            line.MarkerSize = 8;
        }

        plot.Add.HorizontalLine(1.2).LinePattern = LinePattern.Dashed;
        plot.Add.HorizontalLine(1.5).LinePattern = LinePattern.Dotted;
        plot.Axes.SetLimitsY(0.8, 1.6);
        Finish(plot, "Delay over that of the best sum that knows everything (dashed: aim, dotted: bar)", "step, standard deviations", "ratio", path);
    }

    public static void Coverage(IReadOnlyList<ForecastFigures> invented, IReadOnlyList<ForecastFigures> washers, string path)
    {
        var plot = new Plot();
        plot.Add.VerticalSpan(0.75, 0.85).FillColor = Colors.Gray.WithAlpha(0.15);
        foreach (var (name, table) in new[] { ("invented lives", invented), ("simulated washers", washers) })
        {
            var points = table.Where(f => f.Group == "all" && !double.IsNaN(f.Coverage)).OrderBy(f => f.Share).ToList();
            var line = plot.Add.Scatter(points.Select(f => f.Share).ToArray(), points.Select(f => f.Coverage).ToArray());
            line.LegendText = name;
            line.MarkerSize = 8;
        }

        plot.Axes.SetLimits(0.2, 0.95, 0, 1);
        Finish(plot, "How often the 80 % interval held the end (band: 75 to 85 %)", "share of life gone", "share of forecasts", path);
    }

    /// <summary>Cycles from the begin of a fault to the first signal, as a share of its length; each fault a point.</summary>
    public static void Found(IReadOnlyList<EpisodeFound> episodes, string path)
    {
        var plot = new Plot();
        var kinds = episodes.Select(e => e.Episode.Kind).Distinct().Order().ToList();
        foreach (var gradual in new[] { true, false })
        {
            var points = episodes.Where(e => e.Delay is not null && e.Episode.IsGradual == gradual).ToList();
            var scatter = plot.Add.ScatterPoints(
                points.Select(e => kinds.IndexOf(e.Episode.Kind) + (gradual ? -0.12 : 0.12)).ToArray(),
                points.Select(e => Math.Log10(e.Delay!.Value)).ToArray());
            scatter.LegendText = gradual ? "growing" : "at once";
            scatter.MarkerShape = gradual ? MarkerShape.OpenCircle : MarkerShape.FilledDiamond;
        }

        Ticks(plot, [.. Enumerable.Range(0, kinds.Count).Select(i => (double)i)], [.. kinds.Select(k => k.ToString())]);
        plot.Axes.Left.SetTicks([0, 1, 2, 3], ["1", "10", "100", "1,000"]);
        Finish(plot, "Cycles from the begin of a fault to its first signal", "", "cycles", path);
    }

    private static void Ticks(Plot plot, double[] places, string[] labels) => plot.Axes.Bottom.SetTicks(places, labels);

    private static void Finish(Plot plot, string title, string bottom, string left, string path)
    {
        plot.Title(title);
        plot.XLabel(bottom);
        plot.YLabel(left);
        plot.ShowLegend();
        plot.SavePng(path, Width, Height);
    }
}
