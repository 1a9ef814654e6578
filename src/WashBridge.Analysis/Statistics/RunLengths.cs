using MathNet.Numerics.RootFinding;

namespace WashBridge.Analysis.Statistics;

/// <summary>What the run lengths of all charts share.</summary>
internal static class RunLengths
{
    /// <summary>The limit at which a chart's average run length is <paramref name="every"/>; the length must grow with the limit.</summary>
    public static double Solve(Func<double, double> length, double every, double least, double most, double accuracy = 1e-10)
    {
        var target = Math.Log(every);
        double Excess(double limit) => Math.Log(length(limit)) - target;
        if (Excess(least) > 0)
        {
            throw new ArgumentOutOfRangeException(nameof(every), every, $"an average run length of {every} is too short for this chart: even with the limit {least} it is {length(least):G4}");
        }

        // The logarithm of the length is close to a straight line: step upwards until it is enclosed.
        var below = least;
        var above = Math.Min(most, Math.Max(2 * least, 1));
        while (Excess(above) < 0)
        {
            if (above >= most)
            {
                throw new ArgumentOutOfRangeException(nameof(every), every, $"no limit up to {most} gives such an average run length");
            }

            below = above;
            above = Math.Min(most, above * 1.5);
        }

        return Brent.FindRoot(Excess, below, above, accuracy, 100);
    }

    public static void Check(double value, double least, double most, string name)
    {
        if (!(value >= least && value <= most))
        {
            throw new ArgumentOutOfRangeException(name, value, $"allowed: {least} to {most}");
        }
    }
}
