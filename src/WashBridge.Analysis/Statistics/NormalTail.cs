using MathNet.Numerics;

namespace WashBridge.Analysis.Statistics;

/// <summary>The standard normal distribution, also where plain doubles underflow.</summary>
internal static class NormalTail
{
    public static double Cdf(double x) => 0.5 * SpecialFunctions.Erfc(-x / Constants.Sqrt2);

    public static double Quantile(double probability) => -Constants.Sqrt2 * SpecialFunctions.ErfcInv(2 * probability);

    /// <summary>P(Z > x) times exp(x²/2), for x from 0: far out by the asymptotic series (Abramowitz and Stegun 1964, 26.2.12).</summary>
    public static double ScaledUpper(double x)
    {
        if (x < 12)
        {
            return Cdf(-x) * Math.Exp(0.5 * x * x);
        }

        var z = 1 / (x * x);
        return (1 - (z * (1 - (3 * z * (1 - (5 * z * (1 - (7 * z * (1 - (9 * z)))))))))) / (x * Constants.Sqrt2Pi);
    }
}
