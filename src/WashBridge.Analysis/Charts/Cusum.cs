namespace WashBridge.Analysis.Charts;

/// <summary>Two cumulative sums, one for each direction (Page 1954), of values with mean 0.</summary>
/// <param name="k">Reference value: half of the shift that is looked for.</param>
/// <param name="h">A sum above it signals.</param>
internal sealed class Cusum(double k, double h)
{
    public double Upper { get; set; }

    public double Lower { get; set; }

    /// <returns>1 or -1: a signal upwards, downwards; 0: none.</returns>
    public int Add(double value) => Add(value, h);

    /// <inheritdoc cref="Add(double)"/>
    /// <param name="value">The next value.</param>
    /// <param name="by">Limit that holds for this value.</param>
    public int Add(double value, double by)
    {
        Upper = Math.Max(0, Upper + value - k);
        Lower = Math.Max(0, Lower - value - k);
        return Upper > by ? 1 : Lower > by ? -1 : 0;
    }
}
