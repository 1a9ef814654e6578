namespace WashBridge.Benchmarks.Analysis.Forecasts;

/// <summary>How forecasts stood against what happened, at one share of the lives.</summary>
/// <param name="Group">Kind of wear, or <c>all</c>.</param>
/// <param name="Share">Of the life, from when wear began to its end.</param>
/// <param name="Lives">Looked at.</param>
/// <param name="Given">Of which a limit was foretold.</param>
/// <param name="Coverage">Share of the given whose end lay in the 80 % interval; NaN: none.</param>
/// <param name="Earlier">Share whose end came before the interval.</param>
/// <param name="Later">Share whose end came after it.</param>
/// <param name="MedianError">Median of the median's error, relative to the cycles truly left.</param>
/// <param name="MedianRatio">Median of the interval's upper over its lower end; infinite where the upper end is open.</param>
public sealed record ForecastFigures(string Group, double Share, int Lives, int Given, double Coverage, double Earlier, double Later, double MedianError, double MedianRatio)
{
    public static ForecastFigures Of(string group, double share, IReadOnlyCollection<ForecastTrial> trials)
    {
        var given = trials.Where(t => t.IsGiven).ToList();
        double Share(Func<ForecastTrial, bool> which) => given.Count > 0 ? given.Count(which) / (double)given.Count : double.NaN;
        return new(
            group,
            share,
            trials.Count,
            given.Count,
            Share(t => t.Lower <= t.Left && t.Left <= t.Upper),
            Share(t => t.Left < t.Lower),
            Share(t => t.Left > t.Upper),
            Median(given.Select(t => Math.Abs(t.Median - t.Left) / t.Left)),
            Median(given.Select(t => t.Upper / Math.Max(1e-9, t.Lower))));
    }

    /// <summary>By share of life: all together, then each group.</summary>
    public static IReadOnlyList<ForecastFigures> Table(IReadOnlyCollection<ForecastTrial> trials) =>
        [.. trials.GroupBy(t => t.Share).OrderBy(g => g.Key).SelectMany(g => new[] { Of("all", g.Key, g.ToList()) }
            .Concat(g.GroupBy(t => t.Group).OrderBy(k => k.Key, StringComparer.Ordinal).Select(k => Of(k.Key, g.Key, k.ToList()))))];

    private static double Median(IEnumerable<double> values)
    {
        var sorted = values.Order().ToList();
        return sorted.Count == 0 ? double.NaN : 0.5 * (sorted[(sorted.Count - 1) / 2] + sorted[sorted.Count / 2]);
    }
}

/// <summary>One forecast against what happened.</summary>
/// <param name="Group">Kind of wear.</param>
/// <param name="Share">Of the life that was over.</param>
/// <param name="Left">Truly left, above 0.</param>
/// <param name="IsGiven">A limit was foretold.</param>
/// <param name="Lower">Of the 80 % interval.</param>
/// <param name="Median">Of the forecast.</param>
/// <param name="Upper">Of the interval; infinite where open.</param>
public sealed record ForecastTrial(string Group, double Share, double Left, bool IsGiven, double Lower, double Median, double Upper);
