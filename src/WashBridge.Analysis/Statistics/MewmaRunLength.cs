using MathNet.Numerics;
using MathNet.Numerics.Integration;

namespace WashBridge.Analysis.Statistics;

/// <summary>
/// Average run lengths in control of the multivariate exponentially weighted moving average (Lowry, Woodall, Champ and Rigdon 1992): z = (1 - r) z + r x from z = 0, a signal
/// where the squared distance of z, in its own long-run covariance, is above h. In control the distance alone is a Markov process, with steps that follow a noncentral
/// chi distribution (Rigdon 1995): an integral equation in one dimension, solved at Gauss-Legendre nodes.
/// </summary>
public static class MewmaRunLength
{
    private const int OutsideNodes = 40;

    /// <summary>Values until a false alarm, on average.</summary>
    /// <param name="weight">r, weight of the newest value, 0.02 to 1.</param>
    /// <param name="limit">h, above 0, at most 200.</param>
    /// <param name="dimension">Figures, 2 to 40.</param>
    /// <returns>Relative error below 1e-6.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is not as allowed above.</exception>
    public static double InControl(double weight, double limit, int dimension)
    {
        Check(weight, dimension);
        RunLengths.Check(limit, 1e-3, 200, nameof(limit));
        return Length(weight, limit, dimension, 6);
    }

    /// <summary>The limit h that gives one false alarm in <paramref name="every"/> values; the run length at it is right to a thousandth.</summary>
    /// <param name="weight">r, 0.02 to 1.</param>
    /// <param name="dimension">Figures, 2 to 40.</param>
    /// <param name="every">50 to 1e9.</param>
    /// <exception cref="ArgumentOutOfRangeException">A value is not as allowed above.</exception>
    public static double Limit(double weight, int dimension, double every)
    {
        Check(weight, dimension);
        RunLengths.Check(every, 50, 1e9, nameof(every));
        var guess = RunLengths.GuessOfAverage(weight, dimension, every);
        return RunLengths.Solve(h => Length(weight, h, dimension, 3), every, 1e-3, 200, guess * guess, 1e-5);
    }

    private static double Length(double weight, double limit, int dimension, int nodesOfWidth)
    {
        var edge = Math.Sqrt(limit * weight / (2 - weight));
        var rule = new GaussLegendreRule(0, edge, (int)(12 + (nodesOfWidth * edge / weight)));
        var outside = new GaussLegendreRule(edge, edge + (14 * weight), OutsideNodes);
        var distance = new NextDistance(weight, dimension);

        // State 0: the start. The others: z is as far out as a node.
        var move = new double[rule.Order + 1][];
        var leave = new double[rule.Order + 1];
        for (var i = 0; i <= rule.Order; i++)
        {
            var from = i == 0 ? 0 : rule.GetAbscissa(i - 1);
            move[i] = new double[rule.Order + 1];
            for (var j = 0; j < rule.Order; j++)
            {
                move[i][j + 1] = rule.GetWeight(j) * distance.Density(from, rule.GetAbscissa(j));
            }

            for (var j = 0; j < OutsideNodes; j++)
            {
                leave[i] += outside.GetWeight(j) * distance.Density(from, outside.GetAbscissa(j));
            }
        }

        return AbsorbingChain.MeanSteps(move, leave)[0];
    }

    private static void Check(double weight, int dimension)
    {
        RunLengths.Check(weight, 0.02, 1, nameof(weight));
        RunLengths.Check(dimension, 2, 40, nameof(dimension));
    }

    /// <summary>Distance after the next value: noncentral chi, in logarithms.</summary>
    private sealed class NextDistance(double weight, int dimension)
    {
        private readonly double _order = (0.5 * dimension) - 1;
        private readonly double _central = (((0.5 * dimension) - 1) * Math.Log(2)) + SpecialFunctions.GammaLn(0.5 * dimension);
        private readonly LogBesselI _bessel = new((0.5 * dimension) - 1);

        public double Density(double from, double to)
        {
            var (s, centre) = (to / weight, (1 - weight) * from / weight);
            var z = s * centre;
            if (z < 1e-4)
            {
                return Math.Exp(((dimension - 1) * Math.Log(s)) - (0.5 * ((s * s) + (centre * centre))) - _central) / weight;
            }

            return Math.Exp(Math.Log(s) + (_order * Math.Log(s / centre)) - (0.5 * (s - centre) * (s - centre)) + _bessel.Scaled(z)) / weight;
        }
    }
}
