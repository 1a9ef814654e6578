namespace WashBridge.Analysis.Charts;

/// <summary>
/// Beyond which a single value is too far out to be chance. The tails are those of a generalised Pareto distribution (Pickands 1975) through the outermost values of the
/// reference, fitted by probability-weighted moments (Hosking and Wallis 1987), with a shape that is heavier than estimated by two and a half standard errors and never light:
/// it must hold far beyond what was seen.
/// </summary>
internal static class TailLimits
{
    private const double Caution = 2.5;

    /// <param name="sorted">The reference, rising; at least 20.</param>
    /// <param name="probability">Of a value beyond the limit, on one side.</param>
    /// <returns>Infinite limits where nothing is known of how values differ.</returns>
    public static (double Low, double High) Of(ReadOnlySpan<float> sorted, double probability)
    {
        var step = SmallestStep(sorted);
        if (step == 0)
        {
            return (double.NegativeInfinity, double.PositiveInfinity);
        }

        var count = Math.Clamp(sorted.Length / 10, 10, 200);
        Span<double> excess = stackalloc double[count];
        for (var i = 0; i < count; i++)
        {
            excess[i] = (double)sorted[^(count - i)] - sorted[^(count + 1)];
        }

        var high = sorted[^(count + 1)] + Reach(excess, step, probability * sorted.Length / count);
        for (var i = 0; i < count; i++)
        {
            excess[i] = (double)sorted[count] - sorted[count - 1 - i];
        }

        return (sorted[count] - Reach(excess, step, probability * sorted.Length / count), high);
    }

    /// <param name="excess">Rising, 0 or more.</param>
    private static double Reach(ReadOnlySpan<double> excess, double step, double probability)
    {
        var n = excess.Length;
        double mean = 0, weighted = 0;
        for (var i = 0; i < n; i++)
        {
            mean += excess[i] / n;
            weighted += excess[i] * (n - i - 0.65) / n / n;
        }

        var estimated = mean > 2 * weighted ? 2 - (mean / (mean - (2 * weighted))) : 0;
        var shape = Math.Clamp(estimated, 0, 0.9);
        var scale = Math.Max(mean * (1 - shape), step);
        shape += Caution * (1 + shape) / Math.Sqrt(n);
        return scale / shape * (Math.Pow(probability, -shape) - 1);
    }

    // The resolution of coarse figures; of others so small that it does not matter.
    private static double SmallestStep(ReadOnlySpan<float> sorted)
    {
        var smallest = double.PositiveInfinity;
        for (var i = 1; i < sorted.Length; i++)
        {
            var step = (double)sorted[i] - sorted[i - 1];
            smallest = step > 0 && step < smallest ? step : smallest;
        }

        return double.IsInfinity(smallest) ? 0 : smallest;
    }
}
