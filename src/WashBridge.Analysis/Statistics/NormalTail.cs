using MathNet.Numerics;

namespace WashBridge.Analysis.Statistics;

/// <summary>The standard normal distribution, also where plain doubles underflow.</summary>
internal static class NormalTail
{
    private const double HalfLogTwoPi = 0.91893853320467274178;

    public static double Cdf(double x) => 0.5 * SpecialFunctions.Erfc(-x / Constants.Sqrt2);

    public static double Quantile(double probability) => -Constants.Sqrt2 * SpecialFunctions.ErfcInv(2 * probability);

    /// <summary>Logarithm of <see cref="Cdf"/>; far below zero by the asymptotic series (Abramowitz and Stegun 1964, 26.2.12).</summary>
    public static double LogCdf(double x)
    {
        if (x > -12)
        {
            return Math.Log(Cdf(x));
        }

        var z = 1 / (x * x);
        var series = 1 - (z * (1 - (3 * z * (1 - (5 * z * (1 - (7 * z * (1 - (9 * z)))))))));
        return (-0.5 * x * x) - HalfLogTwoPi - Math.Log(-x) + Math.Log(series);
    }
}
