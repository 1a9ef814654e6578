namespace WashBridge.Analysis.Statistics;

/// <summary>Straight line by the median of all pairwise slopes: up to 29 % of the values may be wild.</summary>
/// <param name="Slope">Median slope.</param>
/// <param name="Intercept">Median of y less slope times median of x (Conover 1980).</param>
/// <param name="Lower">Lower end of the slope's confidence interval (Sen 1968, equation 2.6).</param>
/// <param name="Upper">Its upper end.</param>
public sealed record TheilSen(double Slope, double Intercept, double Lower, double Upper)
{
    /// <param name="x">Finite, not all equal.</param>
    /// <param name="y">Finite, as many as <paramref name="x"/>.</param>
    /// <param name="confidence">Above 0, below 1.</param>
    /// <exception cref="ArgumentException">Different lengths, or no two different x.</exception>
    public static TheilSen Of(IReadOnlyList<double> x, IReadOnlyList<double> y, double confidence = 0.95)
    {
        ArgumentNullException.ThrowIfNull(x);
        ArgumentNullException.ThrowIfNull(y);
        if (x.Count != y.Count)
        {
            throw new ArgumentException($"{x.Count} values of x and {y.Count} of y: as many of both are needed.", nameof(y));
        }

        var slopes = new List<double>(x.Count * (x.Count - 1) / 2);
        for (var i = 0; i < x.Count; i++)
        {
            for (var j = i + 1; j < x.Count; j++)
            {
                if (x[i] != x[j])
                {
                    slopes.Add((y[j] - y[i]) / (x[j] - x[i]));
                }
            }
        }

        if (slopes.Count == 0)
        {
            throw new ArgumentException($"{x.Count} values and no two different x: a slope needs two.", nameof(x));
        }

        slopes.Sort();
        var slope = MedianOfSorted(slopes);
        var (lower, upper) = Ranks(slopes.Count, x, y, confidence);
        return new(slope, Median(y) - (slope * Median(x)), slopes[lower], slopes[upper]);
    }

    internal static double Median(IEnumerable<double> values)
    {
        var sorted = values.ToList();
        sorted.Sort();
        return MedianOfSorted(sorted);
    }

    private static double MedianOfSorted(List<double> sorted) =>
        sorted.Count % 2 == 1 ? sorted[sorted.Count / 2] : 0.5 * (sorted[(sorted.Count / 2) - 1] + sorted[sorted.Count / 2]);

    private static (int Lower, int Upper) Ranks(int slopes, IReadOnlyList<double> x, IReadOnlyList<double> y, double confidence)
    {
        var n = (double)x.Count;
        var variance = ((n * (n - 1) * ((2 * n) + 5)) - TieTerm(x) - TieTerm(y)) / 18;
        var width = NormalTail.Quantile(0.5 + (confidence / 2)) * Math.Sqrt(Math.Max(0, variance));
        var lower = (int)Math.Round((slopes - width) / 2) - 1;
        var upper = (int)Math.Round((slopes + width) / 2);
        return (Math.Max(lower, 0), Math.Min(upper, slopes - 1));
    }

    private static double TieTerm(IEnumerable<double> values) =>
        values.GroupBy(v => v).Select(g => (double)g.Count()).Where(t => t > 1).Sum(t => t * (t - 1) * ((2 * t) + 5));
}
