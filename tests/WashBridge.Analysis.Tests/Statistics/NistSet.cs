using System.Globalization;

namespace WashBridge.Analysis.Tests.Statistics;

/// <summary>A data set of the NIST Statistical Reference Datasets (a work of the US government, public domain), kept as published.</summary>
internal static class NistSet
{
    /// <summary>The rows of numbers after the line that begins with "Data:", the response first.</summary>
    public static double[][] Rows(string name)
    {
        var lines = File.ReadAllLines(Path.Combine(AppContext.BaseDirectory, "Statistics", "Nist", name + ".dat"));
        var data = Array.FindLastIndex(lines, l => l.StartsWith("Data:", StringComparison.Ordinal));
        return lines[(data + 1)..]
            .Where(l => l.Trim().Length > 0)
            .Select(l => l.Split(' ', StringSplitOptions.RemoveEmptyEntries).Select(v => double.Parse(v, CultureInfo.InvariantCulture)).ToArray())
            .ToArray();
    }

    public static double[] Column(double[][] rows, int column) => rows.Select(r => r[column]).ToArray();
}
