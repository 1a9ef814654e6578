using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Charts;

/// <summary>Exponentially weighted moving average of values with mean 0 and standard deviation 1 (Roberts 1959).</summary>
/// <param name="lambda">Weight of the newest value.</param>
/// <param name="limit">Standard deviations of the average from zero at which it signals.</param>
internal sealed class Ewma(double lambda, double limit)
{
    private readonly double _deviation = EwmaRunLength.Deviation(lambda);

    public double Value { get; set; }

    /// <returns>1 or -1: a signal upwards, downwards; 0: none.</returns>
    public int Add(double value) => Add(value, limit);

    /// <inheritdoc cref="Add(double)"/>
    /// <param name="value">The next value.</param>
    /// <param name="by">Limit that holds for this value.</param>
    public int Add(double value, double by)
    {
        Value += lambda * (value - Value);
        return Value > by * _deviation ? 1 : Value < -by * _deviation ? -1 : 0;
    }
}
