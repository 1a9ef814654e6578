using MathNet.Numerics;

namespace WashBridge.Analysis.Statistics;

/// <summary>The standard normal distribution, with tails that keep their digits.</summary>
internal static class StandardNormal
{
    private const double InverseRootTwoPi = 0.39894228040143267794;
    private const double RootTwo = 1.41421356237309504880;

    public static double Density(double x) => InverseRootTwoPi * Math.Exp(-0.5 * x * x);

    public static double Below(double x) => 0.5 * SpecialFunctions.Erfc(-x / RootTwo);

    public static double Above(double x) => 0.5 * SpecialFunctions.Erfc(x / RootTwo);

    /// <param name="probability">Between 0 and 1, both excluded.</param>
    public static double Quantile(double probability) => -RootTwo * SpecialFunctions.ErfcInv(2 * probability);
}
