using MathNet.Numerics.Statistics;

namespace WashBridge.Analysis.Peers;

/// <summary>Where one washer or one station stands in a figure over its cycles.</summary>
/// <param name="Washer">Whose.</param>
/// <param name="Station">0: the washer.</param>
/// <param name="Cycles">Behind it.</param>
/// <param name="Median">Of the figure.</param>
/// <param name="Level">What is compared: the median, or of a station the median of its distance from the mean of the washer's stations in the same cycle.</param>
/// <param name="Uncertainty">Standard uncertainty of the level.</param>
internal sealed record PeerLevel(string Washer, int Station, int Cycles, double Median, double Level, double Uncertainty)
{
    /// <summary>Standard error of a median over that of a mean, for a normal distribution: root of pi / 2.</summary>
    private static readonly double MedianPenalty = Math.Sqrt(Math.PI / 2);

    /// <param name="values">Of the figure, in the order of the cycles.</param>
    /// <param name="compared">The same, or what is left when the mean of the washer's stations is taken out.</param>
    public static PeerLevel Of(string washer, int station, double[] values, double[] compared)
    {
        var level = compared.Median();
        var deviation = 1.4826 * compared.Select(v => Math.Abs(v - level)).Median();

        // Where more than half of the values are the same the median deviation is zero, though they scatter.
        deviation = deviation > 0 ? deviation : compared.StandardDeviation();
        return new PeerLevel(washer, station, values.Length, values.Median(), level, MedianPenalty * deviation / Math.Sqrt(EffectiveNumber(compared)));
    }

    /// <summary>Values that hang together count for fewer: n (1 - r) / (1 + r) by their lag-one correlation r, where that is above zero.</summary>
    private static double EffectiveNumber(double[] values)
    {
        var mean = values.Mean();
        var all = values.Sum(v => (v - mean) * (v - mean));
        var lagged = values.Skip(1).Zip(values, (a, b) => (a - mean) * (b - mean)).Sum();
        var correlation = all > 0 ? Math.Clamp(lagged / all, 0, 0.98) : 0;
        return Math.Max(1, values.Length * (1 - correlation) / (1 + correlation));
    }
}
