namespace WashBridge.Analysis.Statistics;

/// <summary>Test for a monotone trend (Mann 1945, Kendall 1975), corrected for ties; exact for short series without ties.</summary>
/// <param name="Count">Values of the series.</param>
/// <param name="S">Pairs that rise less pairs that fall.</param>
/// <param name="Variance">Of <see cref="S"/> where there is no trend; with the factor for autocorrelation that was asked for.</param>
/// <param name="Z">Normal score with continuity correction; 0 where all values are equal.</param>
/// <param name="RisingProbability">Probability of an <see cref="S"/> at least as high where there is no trend (one-sided).</param>
/// <param name="FallingProbability">Probability of an <see cref="S"/> at least as low where there is no trend (one-sided).</param>
public sealed record MannKendall(int Count, int S, double Variance, double Z, double RisingProbability, double FallingProbability)
{
    /// <summary>The longest series whose distribution is computed exactly; beyond it the normal one differs by less than 0.001.</summary>
    public const int LongestExact = 40;

    /// <param name="values">In order of time; finite.</param>
    /// <param name="varianceFactor">By how much autocorrelation widens the variance of S, 1 or more; other than 1 the normal distribution is used.</param>
    /// <exception cref="ArgumentException">Fewer than 3 values.</exception>
    public static MannKendall Of(IReadOnlyList<double> values, double varianceFactor = 1)
    {
        ArgumentNullException.ThrowIfNull(values);
        var n = values.Count;
        if (n < 3)
        {
            throw new ArgumentException($"{n} values: a trend test needs at least 3.", nameof(values));
        }

        var s = 0;
        for (var i = 0; i < n; i++)
        {
            for (var j = i + 1; j < n; j++)
            {
                s += values[j].CompareTo(values[i]);
            }
        }

        var tied = values.GroupBy(v => v).Select(g => (double)g.Count()).Where(t => t > 1).ToList();
        var variance = ((n * (n - 1.0) * ((2 * n) + 5)) - tied.Sum(t => t * (t - 1) * ((2 * t) + 5))) / 18 * varianceFactor;
        var z = variance > 0 ? (s - Math.Sign(s)) / Math.Sqrt(variance) : 0;
        if (tied.Count == 0 && n <= LongestExact && varianceFactor == 1)
        {
            var tail = ExactTail(n, s);
            return new(n, s, variance, z, tail, ExactTail(n, -s));
        }

        return new(n, s, variance, z, OneSided(s, variance), OneSided(-s, variance));
    }

    private static double OneSided(int s, double variance) => variance > 0 ? NormalTail.Cdf(-(s - 1) / Math.Sqrt(variance)) : 1;

    /// <summary>P(S >= s) over all orders of n different values: counts of inversions by convolution (Kendall 1938).</summary>
    private static double ExactTail(int n, int s)
    {
        var pairs = n * (n - 1) / 2;
        var share = new double[pairs + 1];
        share[0] = 1;
        for (var k = 2; k <= n; k++)
        {
            var next = new double[pairs + 1];
            var window = 0.0;
            for (var inversions = 0; inversions <= k * (k - 1) / 2; inversions++)
            {
                window += share[inversions] - (inversions >= k ? share[inversions - k] : 0);
                next[inversions] = window / k;
            }

            share = next;
        }

        // S = pairs - 2 x inversions.
        var most = Math.Min(pairs, (int)Math.Floor((pairs - s) / 2.0));
        var sum = 0.0;
        for (var inversions = 0; inversions <= most; inversions++)
        {
            sum += share[inversions];
        }

        return Math.Min(1, sum);
    }
}
