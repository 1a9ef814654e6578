namespace WashBridge.Core.Verdicts.Calculations;

/// <summary>The standard normal distribution.</summary>
public static class Normal
{
    /// <summary>Beyond this the continued fraction converges faster, and the series loses digits by cancellation.</summary>
    private const double SeriesLimit = 3;

    private const int MaxTerms = 500;

    /// <summary>Phi(z), to about 1e-15.</summary>
    public static double Cumulative(double z)
    {
        if (double.IsNaN(z))
        {
            return double.NaN;
        }

        if (Math.Abs(z) <= SeriesLimit)
        {
            return 0.5 + (Density(z) * Series(z));
        }

        var tail = Density(z) / ContinuedFraction(Math.Abs(z));
        return z > 0 ? 1 - tail : tail;
    }

    public static double Density(double z) => Math.Exp(-z * z / 2) / Math.Sqrt(2 * Math.PI);

    /// <summary>z + z^3/3 + z^5/(3 5) + ... (Abramowitz and Stegun 26.2.11).</summary>
    private static double Series(double z)
    {
        var (sum, term) = (z, z);
        for (var n = 3; n < MaxTerms && Math.Abs(term) > Math.Abs(sum) * 1e-17; n += 2)
        {
            term *= z * z / n;
            sum += term;
        }

        return sum;
    }

    /// <summary>z + 1/(z + 2/(z + 3/(z + ...))) (Abramowitz and Stegun 26.2.14), from the inside out.</summary>
    private static double ContinuedFraction(double z)
    {
        var value = z;
        for (var n = 200; n >= 1; n--)
        {
            value = z + (n / value);
        }

        return value;
    }
}
