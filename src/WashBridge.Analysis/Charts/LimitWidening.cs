namespace WashBridge.Analysis.Charts;

/// <summary>
/// How much wider limits must be because the reference is finite, so that the promise holds on average over all references that could have been drawn.
/// </summary>
/// <remarks>
/// Sequential ranks are exact, whatever the size of the reference, as long as it grows with every value and values are independent. Two things are not exact. (1) The memory
/// of values is estimated: sums of residuals then have a standard deviation that is wrong by a relative error with variance s^2; with alarms as rare as exp(-L^2 / 2 g^2) the
/// wrong side costs more than the right one saves. The mean over g is that of Student's t with 1 / (2 s^2) degrees of freedom, from which the wider limit follows.
/// (2) A reference that no longer grows is off centre by a standard error of 1 / sqrt(m), the same for all values to come: it adds to the variance of the moving average, and
/// exp(2 h^2 / m) to the rate of a sum. A reference that waits while the charts stand high does so for the last part of a false alarm's way: a quarter of it is counted.
/// </remarks>
internal readonly struct LimitWidening
{
    // A sum overshoots its limit as if the limit lay further out by this (Siegmund 1985).
    private const double Overshoot = 1.166;
    private const double WaitingPart = 0.25;
    private readonly double _memory;
    private readonly double _memoryVariance;
    private readonly double _centreVariance;
    private readonly double _scaleVariance;

    /// <param name="cycles">In the reference.</param>
    /// <param name="lags">Coefficients of the autoregression; 0: values are independent.</param>
    /// <param name="memory">Their sum.</param>
    /// <param name="stands">It no longer grows.</param>
    /// <param name="waits">It does not grow just now.</param>
    public LimitWidening(int cycles, int lags, double memory, bool stands, bool waits)
    {
        _memory = Math.Clamp(memory, 0, 0.99);
        _memoryVariance = lags > 0 ? (((1 + _memory) / (1 - _memory)) + (lags - 1)) / cycles : 0;
        _centreVariance = stands ? 1.0 / cycles : waits ? WaitingPart / cycles : 0;
        _scaleVariance = stands ? 0.5 / cycles : 0;
    }

    public double Ewma(double limit, double lambda)
    {
        var wide = Math.Sqrt(Widened(limit * limit, 2 / lambda));
        return wide * Math.Sqrt(1 + (_centreVariance * (2 - lambda) / lambda));
    }

    public double Cusum(double h, double k)
    {
        // A false alarm's way to the limit rises by k a value.
        var wide = (Widened(4 * k * (h + Overshoot), h / k) / (4 * k)) - Overshoot;
        return wide + (_centreVariance * h * h / k);
    }

    // Square of the limit of Student's t that is as rarely exceeded as the normal limit with this square, for a sum over so many values.
    private double Widened(double square, double values)
    {
        // The memory's error builds up over as many values as the memory lasts: a shorter sum sees a part of it.
        var seen = 1 - ((1 - Math.Pow(_memory, values)) / (values * (1 - _memory)));
        var variance = (_memoryVariance * seen * seen) + _scaleVariance;
        return variance > 0 ? (Math.Exp(square * 2 * variance) - 1) / (2 * variance) : square;
    }
}
