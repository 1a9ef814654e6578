using MathNet.Numerics;

namespace WashBridge.Analysis.Statistics;

/// <summary>
/// Logarithm of the modified Bessel function of the first kind, of one order and many arguments: by its power series, all terms of which are positive, and by Hankel's
/// expansion for large arguments (Abramowitz and Stegun 1964, 9.6.10 and 9.7.1). Relative error of the function below 1e-12.
/// </summary>
internal sealed class LogBesselI
{
    private const double Exact = 1e-17;
    private const double LeastLarge = 50;
    private readonly double _order;
    private readonly double _large;
    private readonly double _logGamma;
    private readonly double[] _divisors;

    /// <param name="order">0 to 20.</param>
    public LogBesselI(double order)
    {
        RunLengths.Check(order, 0, 20, nameof(order));
        _order = order;
        _large = Math.Max(LeastLarge, 2 * order * order);
        _logGamma = SpecialFunctions.GammaLn(order + 1);

        // The largest term is that of half the argument.
        _divisors = new double[(int)((0.5 * _large) + (8 * Math.Sqrt(_large)) + 20)];
        for (var k = 1; k < _divisors.Length; k++)
        {
            _divisors[k] = 1 / (k * (k + order));
        }
    }

    /// <summary>Less the argument, so that it stays small: log(exp(-z) I(z)).</summary>
    /// <param name="z">Above 0.</param>
    public double Scaled(double z) => z < _large ? Series(z) : Hankel(z);

    private double Series(double z)
    {
        var square = 0.25 * z * z;
        double term = 1, sum = 1;
        for (var k = 1; k < _divisors.Length; k++)
        {
            term *= square * _divisors[k];
            sum += term;
            if (term < Exact * sum)
            {
                break;
            }
        }

        return (_order * Math.Log(0.5 * z)) - _logGamma - z + Math.Log(sum);
    }

    private double Hankel(double z)
    {
        double term = 1, sum = 1;
        for (var k = 1; k <= 40 && Math.Abs(term) > Exact; k++)
        {
            var odd = (2 * k) - 1;
            term *= -((4 * _order * _order) - (odd * odd)) / (8 * k * z);
            sum += term;
        }

        return (-0.5 * Math.Log(2 * Math.PI * z)) + Math.Log(sum);
    }
}
