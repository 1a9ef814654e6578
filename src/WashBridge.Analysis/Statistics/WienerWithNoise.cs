namespace WashBridge.Analysis.Statistics;

/// <summary>
/// A Wiener process with drift, seen through noise, by maximum likelihood (state-space form; Harvey 1989). The first level and the drift are not
/// known before.
/// </summary>
/// <param name="Level">Level at the last value, as far as noise lets it be known.</param>
/// <param name="LevelVariance">Its variance.</param>
/// <param name="Drift">Change per unit of time.</param>
/// <param name="DriftVariance">Its variance.</param>
/// <param name="Diffusion">Variance of the process per unit of time.</param>
/// <param name="Noise">Variance of the noise of one value.</param>
public sealed record WienerWithNoise(double Level, double LevelVariance, double Drift, double DriftVariance, double Diffusion, double Noise)
{
    private const int Steps = 60;

    /// <param name="times">Rising.</param>
    /// <param name="values">As many, at least 5.</param>
    /// <exception cref="ArgumentException">Too few values, different lengths, or times that do not rise.</exception>
    public static WienerWithNoise Estimate(IReadOnlyList<double> times, IReadOnlyList<double> values)
    {
        ArgumentNullException.ThrowIfNull(times);
        ArgumentNullException.ThrowIfNull(values);
        Check(times, values);
        var spacing = (times[^1] - times[0]) / (times.Count - 1);

        // One unknown: which share of a step's variance is process and not noise. The scale follows in closed form.
        var (low, high) = (0.0, 1.0);
        var best = 0.0;
        var bestLog = double.NegativeInfinity;
        for (var round = 0; round < 4; round++)
        {
            var width = (high - low) / Steps;
            for (var i = 0; i <= Steps; i++)
            {
                var share = low + (i * width);
                var log = Run(times, values, share, spacing).ProfileLogLikelihood;
                (best, bestLog) = log > bestLog ? (share, log) : (best, bestLog);
            }

            (low, high) = (Math.Max(0, best - width), Math.Min(1, best + width));
        }

        var filter = Run(times, values, best, spacing);

        // Of the values one told the level and one the drift.
        var scale = filter.PlainScale * filter.Count / Math.Max(1, filter.Count - 1);
        return new(filter.Level, filter.LevelVariance * scale, filter.Slope, filter.SlopeVariance * scale, best / spacing * scale, (1 - best) * scale);
    }

    private static TrendFilter Run(IReadOnlyList<double> times, IReadOnlyList<double> values, double share, double spacing)
    {
        var filter = TrendFilter.Begin(values[0], 1 - share);
        filter.BeginSlope(1e8 / (spacing * spacing));
        for (var i = 1; i < times.Count; i++)
        {
            filter.Advance(times[i] - times[i - 1], share / spacing, 0);
            filter.See(values[i], 1 - share);
        }

        return filter;
    }

    private static void Check(IReadOnlyList<double> times, IReadOnlyList<double> values)
    {
        if (times.Count != values.Count || times.Count < 5)
        {
            throw new ArgumentException($"{times.Count} times and {values.Count} values: as many of both are needed, at least 5.", nameof(values));
        }

        for (var i = 1; i < times.Count; i++)
        {
            if (times[i] <= times[i - 1])
            {
                throw new ArgumentException($"time {times[i]} after {times[i - 1]}: times must rise.", nameof(times));
            }
        }
    }
}
