using MathNet.Numerics.Integration;

namespace WashBridge.Analysis.Statistics;

/// <summary>
/// Average run lengths of exponentially weighted moving averages of independent normal values with standard deviation 1: z = (1 - lambda) z + lambda x from
/// z = 0, a signal where |z| is above L times its standard deviation (Roberts 1959). Integral equation solved at Gauss-Legendre nodes (Crowder 1987).
/// </summary>
public static class EwmaRunLength
{
    /// <summary>Values until the signal, on average, with the limits of the long run from the first value on.</summary>
    /// <param name="lambda">Weight of the newest value, 0.005 to 1.</param>
    /// <param name="limit">L, above 0, at most 10.</param>
    /// <param name="shift">Mean of the values; 0: in control.</param>
    /// <returns>Relative error below 1e-8.</returns>
    /// <exception cref="ArgumentOutOfRangeException">A value is not as allowed above.</exception>
    public static double TwoSided(double lambda, double limit, double shift = 0)
    {
        Check(lambda, limit, shift);
        var chart = new Chart(lambda, limit * Deviation(lambda), shift);
        return chart.From(0, chart.Steps());
    }

    /// <summary>With the exact limits of each value, which are narrower at first (Steiner 1999).</summary>
    /// <inheritdoc cref="TwoSided"/>
    public static double TwoSidedExactLimits(double lambda, double limit, double shift = 0)
    {
        Check(lambda, limit, shift);

        // Density of z at the nodes of each value's interval, over those that have not signalled; from where the limits stand still the chart is as above.
        var chart = new Chart(lambda, limit * Deviation(lambda) * Math.Sqrt(1 - Math.Pow(1 - lambda, 2)), shift);
        var density = chart.Nodes.Select(z => chart.Density(0, z)).ToArray();
        var length = 1.0;
        for (var value = 2; ; value++)
        {
            length += chart.Integral(density);
            var widening = Math.Pow(1 - lambda, 2.0 * value);
            var next = new Chart(lambda, limit * Deviation(lambda) * Math.Sqrt(1 - widening), shift);
            if (widening < 1e-13)
            {
                // Of the values after this one the long-run chart knows the number from wherever it stands.
                var steps = next.Steps();
                return length - chart.Integral(density) + chart.Integral([.. chart.Nodes.Select((z, i) => density[i] * next.From(z, steps))]);
            }

            density = [.. next.Nodes.Select(z => chart.Integral([.. chart.Nodes.Select((from, i) => density[i] * next.Density(from, z))]))];
            chart = next;
        }
    }

    /// <summary>The limit L that gives one false alarm in <paramref name="every"/> values.</summary>
    /// <param name="lambda">Weight of the newest value, 0.005 to 1.</param>
    /// <param name="every">50 to 1e9.</param>
    /// <exception cref="ArgumentOutOfRangeException">A value is not as allowed above.</exception>
    public static double LimitTwoSided(double lambda, double every)
    {
        RunLengths.Check(lambda, 0.005, 1, nameof(lambda));
        RunLengths.Check(every, 50, 2e9, nameof(every));
        return RunLengths.Solve(limit => TwoSided(lambda, limit), every, 1e-3, 10, RunLengths.GuessOfAverage(lambda, 1, every));
    }

    /// <summary>Standard deviation of z in the long run.</summary>
    public static double Deviation(double lambda) => Math.Sqrt(lambda / (2 - lambda));

    private static void Check(double lambda, double limit, double shift)
    {
        RunLengths.Check(lambda, 0.005, 1, nameof(lambda));
        RunLengths.Check(limit, 1e-6, 10, nameof(limit));
        RunLengths.Check(shift, -20, 20, nameof(shift));
    }

    /// <summary>One interval from -edge to edge with its nodes.</summary>
    private sealed class Chart
    {
        private readonly double _lambda;
        private readonly double _edge;
        private readonly double _shift;
        private readonly double[] _weights;

        public Chart(double lambda, double edge, double shift)
        {
            (_lambda, _edge, _shift) = (lambda, edge, shift);

            // The kernel is a normal density of width lambda: some nodes for each width, and a few for the ends.
            var rule = new GaussLegendreRule(-edge, edge, (int)(24 + (6 * edge / lambda)));
            Nodes = [.. Enumerable.Range(0, rule.Order).Select(rule.GetAbscissa)];
            _weights = [.. Enumerable.Range(0, rule.Order).Select(rule.GetWeight)];
        }

        public double[] Nodes { get; }

        public double Density(double from, double to) => StandardNormal.Density(((to - ((1 - _lambda) * from)) / _lambda) - _shift) / _lambda;

        public double Integral(double[] values) => values.Zip(_weights, (value, weight) => value * weight).Sum();

        /// <summary>Values until the signal from each node.</summary>
        public double[] Steps() => AbsorbingChain.MeanSteps(Array.ConvertAll(Nodes, Row), Array.ConvertAll(Nodes, Leave));

        /// <summary>Values until the signal from anywhere.</summary>
        public double From(double z, double[] steps) => 1 + Row(z).Zip(steps, (probability, step) => probability * step).Sum();

        private double[] Row(double from)
        {
            var row = new double[Nodes.Length];
            for (var j = 0; j < row.Length; j++)
            {
                row[j] = _weights[j] * Density(from, Nodes[j]);
            }

            return row;
        }

        private double Leave(double from) =>
            StandardNormal.Above(((_edge - ((1 - _lambda) * from)) / _lambda) - _shift) + StandardNormal.Below(((-_edge - ((1 - _lambda) * from)) / _lambda) - _shift);
    }
}
