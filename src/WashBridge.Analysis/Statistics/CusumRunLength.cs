using MathNet.Numerics.Integration;

namespace WashBridge.Analysis.Statistics;

/// <summary>
/// Average run lengths of cumulative sums of independent normal values with standard deviation 1: S = max(0, S + x - k), a signal where S is above h
/// (Page 1954). Integral equation solved at Gauss-Legendre nodes (Goel and Wu 1971; Vance 1986).
/// </summary>
public static class CusumRunLength
{
    /// <summary>Values until the signal, on average, of the upper sum.</summary>
    /// <param name="k">Reference value, 0 to 5.</param>
    /// <param name="h">Limit, above 0, at most 200.</param>
    /// <param name="shift">Mean of the values; 0: in control.</param>
    /// <param name="start">Where the sum starts, 0 to <paramref name="h"/>.</param>
    /// <returns>Relative error below 1e-8.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is not as allowed above.</exception>
    public static double OneSided(double k, double h, double shift = 0, double start = 0)
    {
        RunLengths.Check(k, 0, 5, nameof(k));
        RunLengths.Check(h, 1e-6, 200, nameof(h));
        RunLengths.Check(shift, -20, 20, nameof(shift));
        RunLengths.Check(start, 0, h, nameof(start));

        // The kernel is a normal density of width 1: some nodes for each width, and a few for the ends.
        var nodes = (int)(20 + (6 * h));
        var rule = new GaussLegendreRule(0, h, nodes);

        // State 0: the sum is zero. The others: it is at a node.
        var states = nodes + 1;
        var move = new double[states][];
        var leave = new double[states];
        for (var i = 0; i < states; i++)
        {
            move[i] = RowFrom(i == 0 ? 0 : rule.GetAbscissa(i - 1), k, shift, rule);
            leave[i] = StandardNormal.Above(h + k - shift - (i == 0 ? 0 : rule.GetAbscissa(i - 1)));
        }

        var steps = AbsorbingChain.MeanSteps(move, leave);
        if (start == 0)
        {
            return steps[0];
        }

        var first = RowFrom(start, k, shift, rule);
        return 1 + first.Zip(steps, (p, s) => p * s).Sum();
    }

    /// <summary>Of two sums, one for each direction, with the same <paramref name="k"/> and <paramref name="h"/>, both from zero.</summary>
    /// <inheritdoc cref="OneSided"/>
    public static double TwoSided(double k, double h, double shift = 0) =>
        //// Exact for equal sums that start at zero: while one is above zero and near its limit the other is at zero (Kemp 1961; Lucas and Crosier 1982).
        1 / ((1 / OneSided(k, h, shift)) + (1 / OneSided(k, h, -shift)));

    /// <summary>The limit h of a two-sided pair that gives one false alarm in <paramref name="every"/> values.</summary>
    /// <param name="k">Reference value, 0.05 to 5.</param>
    /// <param name="every">50 to 1e9.</param>
    /// <exception cref="ArgumentOutOfRangeException">A value is not as allowed above, or no limit above zero is loose enough.</exception>
    public static double LimitTwoSided(double k, double every) => LimitOneSided(k, 2 * every);

    /// <summary>The limit h of an upper sum that gives one false alarm in <paramref name="every"/> values.</summary>
    /// <inheritdoc cref="LimitTwoSided"/>
    public static double LimitOneSided(double k, double every)
    {
        RunLengths.Check(k, 0.05, 5, nameof(k));
        RunLengths.Check(every, 50, 2e9, nameof(every));
        return RunLengths.Solve(h => OneSided(k, h), every, 1e-6, 100, RunLengths.GuessOfSum(k, every));
    }

    private static double[] RowFrom(double from, double k, double shift, GaussLegendreRule rule)
    {
        var row = new double[rule.Order + 1];
        row[0] = StandardNormal.Below(k - shift - from);
        for (var j = 0; j < rule.Order; j++)
        {
            row[j + 1] = rule.GetWeight(j) * StandardNormal.Density(rule.GetAbscissa(j) + k - shift - from);
        }

        return row;
    }
}
