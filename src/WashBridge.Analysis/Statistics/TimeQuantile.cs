namespace WashBridge.Analysis.Statistics;

/// <summary>Solves for the time at which a rising probability reaches a value.</summary>
internal static class TimeQuantile
{
    /// <param name="cdf">Rising in time, 0 at time 0.</param>
    /// <param name="probability">Above 0, below 1.</param>
    /// <param name="guess">Order of magnitude of the answer, above 0.</param>
    /// <param name="most">Beyond this nothing is looked for.</param>
    /// <param name="exactness">Relative.</param>
    /// <returns>Infinity where the probability is not reached within <paramref name="most"/>.</returns>
    public static double Find(Func<double, double> cdf, double probability, double guess, double most = 1e15, double exactness = 1e-13)
    {
        var high = Math.Min(guess, most);
        while (cdf(high) < probability)
        {
            if (high >= most)
            {
                return double.PositiveInfinity;
            }

            high = Math.Min(high * 2, most);
        }

        var low = high / 2;
        while (cdf(low) > probability)
        {
            high = low;
            low /= 4;
            if (low < guess * 1e-12)
            {
                return low;
            }
        }

        // Regula falsi with the Illinois rule (Dowell and Jarratt 1971): no derivative needed, never leaves the bracket.
        var (below, above) = (cdf(low) - probability, cdf(high) - probability);
        var side = 0;
        for (var i = 0; i < 200 && high - low > exactness * high; i++)
        {
            var middle = above > below ? high - (above * (high - low) / (above - below)) : 0.5 * (low + high);
            if (!(middle > low && middle < high))
            {
                middle = 0.5 * (low + high);
            }

            var at = cdf(middle) - probability;
            if (at >= 0)
            {
                (high, above) = (middle, at);
                below *= side > 0 ? 0.5 : 1;
                side = 1;
            }
            else
            {
                (low, below) = (middle, at);
                above *= side < 0 ? 0.5 : 1;
                side = -1;
            }

            if (at == 0)
            {
                return middle;
            }
        }

        return 0.5 * (low + high);
    }
}
