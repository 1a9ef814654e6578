using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Upkeep.Forecasting;

/// <summary>Robust evidence of a trend towards the limit.</summary>
internal readonly record struct WearTrend(double Slope, double SlopeUncertainty, double ChanceProbability)
{
    private const int LeastBlocks = 8;
    private const int MostBlocks = 60;

    /// <param name="onset">Index of the block at which the trend likely began; a few before it are taken along where there are too few after.</param>
    public static WearTrend Since(WearData data, WearQuestion question, int onset)
    {
        var blocks = question.Blocks;
        var first = Math.Max(Math.Max(0, blocks.Count - MostBlocks), Math.Min(onset, blocks.Count - LeastBlocks));
        var times = data.Times[first..];
        var values = blocks.Skip(first).Select(b => b.Value).ToArray();
        if (values.Length < 3)
        {
            return new(0, 0, 1);
        }

        var line = TheilSen.Of(times, values, 0.6827);
        var test = MannKendall.Of(data.Direction > 0 ? values : values.Select(v => -v).ToArray(), Widening(times, values, line));
        return new(line.Slope, (line.Upper - line.Lower) / 2, test.RisingProbability);
    }

    /// <summary>Factor of the variance of S for an autoregressive series, from the correlation of neighbours beside the line (after Hamed and Rao 1998).</summary>
    private static double Widening(double[] times, double[] values, TheilSen line)
    {
        var rest = values.Zip(times, (v, t) => v - (line.Slope * t)).ToArray();
        var centre = TheilSen.Median(rest);
        var (product, square) = (0.0, 0.0);
        for (var i = 0; i < rest.Length; i++)
        {
            square += (rest[i] - centre) * (rest[i] - centre);
            product += i > 0 ? (rest[i] - centre) * (rest[i - 1] - centre) : 0;
        }

        var correlation = square > 0 ? product / square : 0;

        // Only what stands out of the noise of the estimate itself is allowed for.
        return correlation > 1 / Math.Sqrt(rest.Length) ? (1 + Math.Min(correlation, 0.9)) / (1 - Math.Min(correlation, 0.9)) : 1;
    }
}
