using MathNet.Numerics;
using MathNet.Numerics.RootFinding;

namespace WashBridge.Analysis.Statistics;

/// <summary>What the run lengths of all charts share.</summary>
internal static class RunLengths
{
    // How much further than a limit a random walk is that passes it, in steps (Siegmund 1985).
    private const double Overshoot = 0.583;
    private const double FirstStep = 0.01;
    private const int MostSteps = 12;

    /// <summary>The limit at which a chart's average run length is <paramref name="every"/>; the length must grow with the limit.</summary>
    /// <param name="length">Takes a while for each limit.</param>
    /// <param name="guess">Close to the limit, as a rule.</param>
    public static double Solve(Func<double, double> length, double every, double least, double most, double guess, double accuracy = 1e-10)
    {
        var target = Math.Log(every);
        double Excess(double limit) => Math.Log(length(limit)) - target;
        return Secant(Excess, least, most, guess, accuracy) ?? Enclosed(Excess, length, every, least, most, accuracy);
    }

    /// <summary>
    /// About where the distance from zero of a moving average of values with so many dimensions has its limit, in its own standard deviations: where a diffusion that is drawn
    /// back to zero passes a rarely reached distance, allowing for its being looked at only with each value.
    /// </summary>
    /// <param name="weight">Of the newest value.</param>
    public static double GuessOfAverage(double weight, int dimension, double every)
    {
        // 1 / (weight x distance x density of the distance); the density falls beyond the root of the dimension.
        var constant = Math.Log(weight) - (((0.5 * dimension) - 1) * Math.Log(2)) - SpecialFunctions.GammaLn(0.5 * dimension);
        var distance = Inverse(b => (0.5 * b * b) - (dimension * Math.Log(b)) - constant, Math.Log(every), Math.Sqrt(dimension), 60);
        return distance - (Overshoot * Math.Sqrt(weight * (2 - weight)));
    }

    /// <summary>About where a cumulative sum for one direction has its limit (Siegmund 1985).</summary>
    public static double GuessOfSum(double k, double every)
    {
        double Length(double way) => (Math.Exp(2 * k * way) - 1 - (2 * k * way)) / (2 * k * k);
        return Inverse(way => Math.Log(Length(way)), Math.Log(every), 1e-3, 300 / (2 * k)) - (2 * Overshoot);
    }

    // The logarithm of the length is close to a straight line in the limit: a few steps are enough. Null: not here.
    private static double? Secant(Func<double, double> excess, double least, double most, double guess, double accuracy)
    {
        if (!(guess > least && guess * (1 + FirstStep) < most))
        {
            return null;
        }

        var (before, excessBefore) = (guess, excess(guess));
        var limit = guess * (excessBefore > 0 ? 1 - FirstStep : 1 + FirstStep);
        for (var step = 0; step < MostSteps; step++)
        {
            var off = excess(limit);
            var next = limit - (off * (limit - before) / (off - excessBefore));
            if (off == 0 || Math.Abs(next - limit) <= accuracy)
            {
                return off == 0 ? limit : next;
            }

            if (!(next > least && next < most))
            {
                return null;
            }

            (before, excessBefore, limit) = (limit, off, next);
        }

        return null;
    }

    private static double Inverse(Func<double, double> rising, double target, double low, double high)
    {
        for (var i = 0; i < 40; i++)
        {
            var middle = 0.5 * (low + high);
            (low, high) = rising(middle) < target ? (middle, high) : (low, middle);
        }

        return low;
    }

    private static double Enclosed(Func<double, double> excess, Func<double, double> length, double every, double least, double most, double accuracy)
    {
        if (excess(least) > 0)
        {
            throw new ArgumentOutOfRangeException(nameof(every), every, $"an average run length of {every} is too short for this chart: even with the limit {least} it is {length(least):G4}");
        }

        // Step upwards until it is enclosed.
        var below = least;
        var above = Math.Min(most, Math.Max(2 * least, 1));
        while (excess(above) < 0)
        {
            if (above >= most)
            {
                throw new ArgumentOutOfRangeException(nameof(every), every, $"no limit up to {most} gives such an average run length");
            }

            below = above;
            above = Math.Min(most, above * 1.5);
        }

        return Brent.FindRoot(excess, below, above, accuracy, 100);
    }

    public static void Check(double value, double least, double most, string name)
    {
        if (!(value >= least && value <= most))
        {
            throw new ArgumentOutOfRangeException(name, value, $"allowed: {least} to {most}");
        }
    }
}
