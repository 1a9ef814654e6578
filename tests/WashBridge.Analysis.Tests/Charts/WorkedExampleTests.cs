using System.Globalization;
using WashBridge.Analysis.Charts;
using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Tests.Charts;

/// <summary>Worked examples of the NIST/SEMATECH e-Handbook of Statistical Methods.</summary>
public sealed class WorkedExampleTests
{
    /// <summary>Section 6.3.2.4, EWMA control charts: 20 values, target 50, standard deviation 2.0539, lambda 0.3, three-sigma limits.</summary>
    [Fact]
    public void Moving_average_of_the_handbook()
    {
        double[] values = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
        const double Target = 50, Sigma = 2.0539;
        var chart = new Ewma(0.3, 3);
        var signals = new List<int>();
        var averages = new List<double>();
        foreach (var value in values)
        {
            signals.Add(chart.Add((value - Target) / Sigma));
            averages.Add(Target + (Sigma * chart.Value));
        }

        Assert.All(signals, s => Assert.Equal(0, s));
        Assert.Equal(50.6, averages[0], 1e-12);
        Assert.Equal(49.52, averages[1], 1e-12);
        Assert.Equal(50.564, averages[2], 1e-12);
        Assert.Equal(51.98824325864462, averages[^1], 1e-12);

        // Printed as 52.5884.
        Assert.Equal(52.5884, Target + (3 * Sigma * EwmaRunLength.Deviation(0.3)), 1e-4);
    }

    /// <summary>Section 6.3.2.3, CUSUM control charts: target 325, k 0.3175, h 4.1959; both sums as printed, the first signal at the 14th value.</summary>
    [Fact]
    public void Cumulative_sums_of_the_handbook()
    {
        var chart = new Cusum(0.3175, 4.1959);
        var rows = File.ReadLines(Path.Combine(AppContext.BaseDirectory, "Charts", "nist-cusum.csv")).Skip(1)
            .Select(line => line.Split(',').Select(c => double.Parse(c, CultureInfo.InvariantCulture)).ToArray()).ToArray();
        Assert.Equal(20, rows.Length);
        foreach (var row in rows)
        {
            var signal = chart.Add(row[1] - 325);
            Assert.Equal(row[3], chart.Upper, 1e-9);
            Assert.Equal(row[4], chart.Lower, 1e-9);
            Assert.Equal(row[6], signal);
        }
    }
}
