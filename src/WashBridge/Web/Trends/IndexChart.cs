using Microsoft.Extensions.Localization;
using WashBridge.Reporting;
using WashBridge.Web.Charts;

namespace WashBridge.Web.Trends;

/// <summary>The index of a part against cycles: how it went, its limit, and where the forecast sees it go: a dashed line in a band that holds 8 of 10 cases.</summary>
internal sealed class IndexChart(IStringLocalizer<IndexChart> texts)
{
    /// <summary>The far end of an interval would press the course into a corner: the picture reaches so many times as far as the median.</summary>
    private const double FarthestReach = 3;

    public ChartData Draw(ForecastLine line)
    {
        var (forecast, history) = (line.Forecast, line.History);
        var unit = Units.Of(forecast.Unit);
        var series = new List<ChartSeries>();
        var (from, until) = (0.0, 1.0);
        if (history.Count > 0)
        {
            (from, until) = (history[0].Cycles, Math.Max(history[^1].Cycles, history[0].Cycles + 1));
            series.Add(new ChartSeries { Name = texts["index"], Unit = unit, At = [.. history.Select(h => h.Cycles)], Value = [.. history.Select(h => (double?)h.Value)], Form = "line" });
            if (Ahead(line) is { Count: > 1 } ahead)
            {
                until = ahead[^1].Cycles;
                series.Add(new ChartSeries
                {
                    Name = texts["ahead"],
                    Unit = unit,
                    At = [.. ahead.Select(a => a.Cycles)],
                    Value = [.. ahead.Select(a => (double?)a.Middle)],
                    Low = [.. ahead.Select(a => (double?)Math.Min(a.Fast, a.Slow))],
                    High = [.. ahead.Select(a => (double?)Math.Max(a.Fast, a.Slow))],
                    Form = "line",
                    Dashed = true,
                });
            }
        }

        // As a line of its own, so that the picture reaches to it however far away it is.
        if (forecast.Limit is { } limit)
        {
            series.Add(new ChartSeries { Name = texts["limit", (AnalysisWords.Number(limit) + " " + unit).TrimEnd(), forecast.LimitSource], Unit = unit, At = [from, until], Value = [limit, limit], Form = "line", Dashed = true });
        }

        return new ChartData { From = from, Until = until, Axis = texts["axis"], Series = series };
    }

    /// <summary>From the last value to the limit, straight: as fast as the near end of the interval, as the median, and as slowly as its far end.</summary>
    public static IReadOnlyList<(double Cycles, double Middle, double Fast, double Slow)> Ahead(ForecastLine line)
    {
        if (line.History.Count == 0 || line.Forecast is not { Limit: { } limit, CyclesLeft: > 0 and var median, CyclesLeftLower: { } lower, CyclesLeftUpper: var upper })
        {
            return [];
        }

        var (now, value) = line.History[^1];
        var end = Math.Min(upper ?? double.PositiveInfinity, FarthestReach * median);
        var far = upper ?? double.PositiveInfinity;
        double At(double cycles, double reached) => reached <= 0 ? limit : value + ((limit - value) * Math.Min(1, cycles / reached));
        return
        [
            .. new[] { 0, lower, median, end }.Where(c => c <= end).Distinct().Order()
                .Select(c => (now + c, At(c, median), c == 0 ? value : At(c, lower), c == 0 ? value : At(c, far))),
        ];
    }
}
