using System.Globalization;
using WashBridge.Analysis.Charts;
using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Tests.Charts;

/// <summary>Worked examples of the NIST/SEMATECH e-Handbook of Statistical Methods, and of a textbook.</summary>
public sealed class WorkedExampleTests
{
    /// <summary>
    /// Section 6.3.2.2, individuals control charts: the flow rate of ten batches, mean 50.81, limits at three times the mean moving range of two (1.8778) over 1.128, no signal. An average whose newest
    /// value has all the weight is that chart. Data and printed results as several public programs quote them for their own checks (the same ten values end the example of section 6.3.2.4).
    /// </summary>
    [Fact]
    public void Individuals_of_the_handbook()
    {
        double[] values = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
        var centre = values.Average();
        var range = values.Skip(1).Zip(values, (a, b) => Math.Abs(a - b)).Average();
        Assert.Equal(50.81, centre, 1e-9);
        Assert.Equal(1.8778, range, 5e-5);

        // The handbook's 1.128 is 2 / sqrt(pi) = 1.12838, rounded.
        var sigma = range / 1.128;
        var reach = 3 * sigma * EwmaRunLength.Deviation(1);
        Assert.Equal(55.8041, centre + reach, 5e-5);
        Assert.Equal(45.8159, centre - reach, 5e-5);
        var chart = new Ewma(1, 3);
        Assert.All(values, v => Assert.Equal(0, chart.Add((v - centre) / sigma)));
        Assert.Equal(1, chart.Add((55.81 - centre) / sigma));
        Assert.Equal(0, chart.Add((55.80 - centre) / sigma));
        Assert.Equal(-1, chart.Add((45.81 - centre) / sigma));
    }

    /// <summary>
    /// Montgomery and Runger, Applied Statistics and Probability for Engineers (3rd edition), example 16-6, table 16-8: concentrations of a chemical process, target 99, K 1, H 10; both sums of every row as printed,
    /// and no signal.
    /// </summary>
    [Fact]
    public void Cumulative_sums_of_the_textbook()
    {
        (double Value, double High, double Low)[] rows =
        [
            (102.0, 2.0, 0.0), (94.8, 0.0, 3.2), (98.3, 0.0, 2.9), (98.4, 0.0, 2.5), (102.0, 2.0, 0.0), (98.5, 0.5, 0.0), (99.0, 0.0, 0.0), (97.7, 0.0, 0.3), (100.0, 0.0, 0.0), (98.1, 0.0, 0.0),
            (101.3, 1.3, 0.0), (98.7, 0.0, 0.0), (101.1, 1.1, 0.0), (98.4, 0.0, 0.0), (97.0, 0.0, 1.0), (96.7, 0.0, 2.3), (100.3, 0.3, 0.0), (101.4, 1.7, 0.0), (97.2, 0.0, 0.8), (101.0, 1.0, 0.0),
        ];
        var chart = new Cusum(1, 10);
        foreach (var row in rows)
        {
            Assert.Equal(0, chart.Add(row.Value - 99));
            Assert.Equal((row.High, row.Low), (Math.Round(chart.Upper, 9), Math.Round(chart.Lower, 9)));
        }
    }

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
