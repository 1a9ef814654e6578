namespace WashBridge.Analysis.Statistics;

/// <summary>Centre and spread that a few odd values do not move.</summary>
internal static class Robust
{
    // Makes both scales a standard deviation for normal values.
    private const double NormalMad = 1.4826022185056018;
    private const double NormalQuartiles = 0.7413011092528009;

    /// <exception cref="InvalidOperationException">There are no values.</exception>
    public static double Median(IEnumerable<double> values) => MedianOfSorted(Sorted(values));

    /// <summary>
    /// Standard deviation by the median absolute deviation (Hampel 1974); of values so coarse that this is zero, by the mean absolute deviation.
    /// </summary>
    /// <exception cref="InvalidOperationException">There are no values.</exception>
    public static double Scale(IEnumerable<double> values) => ScaleOfSorted(Sorted(values));

    /// <inheritdoc cref="Scale"/>
    public static double ScaleOfSorted(double[] sorted)
    {
        var centre = MedianOfSorted(sorted);
        var deviations = Array.ConvertAll(sorted, v => Math.Abs(v - centre));
        Array.Sort(deviations);
        var mad = NormalMad * MedianOfSorted(deviations);
        var quartiles = NormalQuartiles * (QuantileOfSorted(sorted, 0.75) - QuantileOfSorted(sorted, 0.25));

        // A coarse figure has quartiles on its steps: whichever sees more, and what they both miss by the mean.
        var scale = Math.Max(mad, quartiles);
        return scale > 0 ? scale : Math.Sqrt(Math.PI / 2) * deviations.Average();
    }

    public static double MedianOfSorted(double[] sorted) => QuantileOfSorted(sorted, 0.5);

    /// <param name="share">0 to 1.</param>
    public static double QuantileOfSorted(double[] sorted, double share)
    {
        if (sorted.Length == 0)
        {
            throw new InvalidOperationException("no values have no median");
        }

        var position = share * (sorted.Length - 1);
        var below = (int)position;
        return below + 1 < sorted.Length ? sorted[below] + ((position - below) * (sorted[below + 1] - sorted[below])) : sorted[below];
    }

    private static double[] Sorted(IEnumerable<double> values)
    {
        var sorted = values.ToArray();
        Array.Sort(sorted);
        return sorted;
    }
}
