using MathNet.Numerics;

namespace WashBridge.Analysis.Statistics;

/// <summary>
/// Kalman filter of a level that moves by a slope and a Wiener process, seen through noise; the slope may itself wander (local linear trend,
/// Harvey 1989). All variances are relative to one scale, which is estimated beside it: its belief is scaled inverse chi-square and the
/// likelihood Student's (conjugate; West and Harrison 1997, chapter 4).
/// </summary>
internal struct TrendFilter
{
    /// <summary>Belief about level and slope; variances relative to the scale.</summary>
    public double Level;

    public double Slope;

    public double LevelVariance;

    public double SlopeVariance;

    public double Covariance;

    // A logarithm for each value would take longer than all else: variances are multiplied while they fit into a double.
    private double _before;
    private double _logDeterminant;
    private double _product;
    private double _squares;
    private int _count;

    /// <summary>Values taken since the scale was learned anew, or after the first, whose level was not known.</summary>
    public readonly int Count => _count;

    /// <param name="level">First value seen.</param>
    /// <param name="noise">Variance of its noise.</param>
    public static TrendFilter Begin(double level, double noise) => new() { Level = level, LevelVariance = noise, _product = 1 };

    /// <summary>From here on there is a slope, of which nothing is known but its order of magnitude.</summary>
    public void BeginSlope(double variance)
    {
        Slope = 0;
        SlopeVariance = variance;
        Covariance = 0;
    }

    /// <summary>From here on it is learned anew how much the values scatter: what wears may scatter more than what does not.</summary>
    /// <param name="freedom">Degrees of freedom of the belief about the scale before any value.</param>
    public void BeginScale(double freedom)
    {
        _before = LogLikelihood(freedom);
        LevelVariance *= Scale(freedom);
        (_logDeterminant, _product, _squares, _count) = (0, 1, 0, 0);
    }

    /// <summary>Lets time pass.</summary>
    /// <param name="time">Since the last value, 0 or more.</param>
    /// <param name="diffusion">Variance of the level per unit of time.</param>
    /// <param name="slopeDiffusion">Variance of the slope per unit of time.</param>
    public void Advance(double time, double diffusion, double slopeDiffusion)
    {
        Level += Slope * time;
        var wander = slopeDiffusion * time;
        LevelVariance += (time * ((2 * Covariance) + (time * SlopeVariance))) + (diffusion * time) + (wander * time * time / 3);
        Covariance += (SlopeVariance * time) + (wander * time / 2);
        SlopeVariance += wander;
    }

    public void See(double value, double noise)
    {
        var variance = LevelVariance + noise;
        var error = value - Level;
        _product *= variance;
        if (_product is < 1e-200 or > 1e200)
        {
            _logDeterminant += Math.Log(_product);
            _product = 1;
        }

        _squares += error * error / variance;
        _count++;
        var (level, slope) = (LevelVariance / variance, Covariance / variance);
        Level += level * error;
        Slope += slope * error;
        SlopeVariance -= slope * Covariance;
        Covariance -= level * Covariance;
        LevelVariance -= level * LevelVariance;
    }

    private readonly double LogDeterminant => _logDeterminant + Math.Log(_product);

    /// <summary>Log of the density of the values seen, but for a constant that is the same for all models of the same values.</summary>
    /// <param name="freedom">Degrees of freedom of the belief about the scale before any value.</param>
    public readonly double LogLikelihood(double freedom) =>
        _before - (0.5 * LogDeterminant) - (0.5 * (freedom + _count) * Math.Log(freedom + _squares)) + (0.5 * freedom * Math.Log(freedom))
        + SpecialFunctions.GammaLn(0.5 * (freedom + _count)) - SpecialFunctions.GammaLn(0.5 * freedom);

    /// <summary>Scale by which variances are to be multiplied: mean of its precision's belief, inverted; prior 1.</summary>
    public readonly double Scale(double freedom) => (freedom + _squares) / (freedom + _count);

    /// <summary>The same for the likeliest scale where nothing is known before: no belief is mixed in.</summary>
    internal readonly double PlainScale => _squares / Math.Max(1, _count);

    /// <summary>Log-likelihood with the scale at its likeliest value, without constants.</summary>
    internal readonly double ProfileLogLikelihood => -0.5 * (LogDeterminant + (_count * Math.Log(Math.Max(PlainScale, double.Epsilon))));
}
