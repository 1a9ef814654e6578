using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Upkeep.Forecasting;

/// <summary>One explanation of what was seen, after all of it was seen: a scale, an onset, how rough the path is and whether its speed wanders.</summary>
/// <param name="Scale">In which it runs straight.</param>
/// <param name="Onset">Index of the block at which the slope began.</param>
/// <param name="Span">Cycles from there to the last block; how the speed wandered in them says nothing of longer times.</param>
/// <param name="Filter">Belief at the last block; wear rises from 0.</param>
/// <param name="Diffusion">Variance per cycle, relative to the filter's scale.</param>
/// <param name="SlopeDiffusion">Variance of the slope per cycle, relative to it.</param>
/// <param name="Distance">Limit, on the scale.</param>
/// <param name="DistanceVariance">Of the limit, where it is not known exactly.</param>
/// <param name="LogWeight">Log of prior times likelihood.</param>
internal readonly record struct WearModel(
    WearScale Scale, int Onset, double Span, TrendFilter Filter, double Diffusion, double SlopeDiffusion, double Distance, double DistanceVariance, double LogWeight)
{
    public const double Freedom = 4;

    /// <summary>Nodes and weights of a normal variable by Gauss and Hermite: exact to the fifth power, and to the ninth where the limit is wide.</summary>
    private static readonly (double Node, double Weight)[] Normal = [(-Math.Sqrt(3), 1.0 / 6), (0, 2.0 / 3), (Math.Sqrt(3), 1.0 / 6)];
    private static readonly (double Node, double Weight)[] Wide =
    [
        (-2.85697001387281, 0.0112574113277207), (-1.35562617997427, 0.222075922005613), (0, 0.533333333333333),
        (1.35562617997427, 0.222075922005613), (2.85697001387281, 0.0112574113277207),
    ];

    public double ReachedProbability
    {
        get
        {
            var deviation = Math.Sqrt((Filter.LevelVariance * Filter.Scale(Freedom)) + DistanceVariance);
            return deviation > 0 ? NormalTail.Cdf((Filter.Level - Distance) / deviation) : Filter.Level >= Distance ? 1 : 0;
        }
    }

    public double TowardsProbability
    {
        get
        {
            var deviation = Math.Sqrt(Filter.SlopeVariance * Filter.Scale(Freedom));
            return deviation > 0 ? NormalTail.Cdf(Filter.Slope / deviation) : Filter.Slope > 0 ? 1 : 0;
        }
    }

    /// <summary>Probability that the limit is reached within so many cycles of the last block.</summary>
    public double Passed(double cycles)
    {
        var freedom = Freedom + Filter.Count;
        var scale = Filter.Scale(Freedom);
        if (freedom > 40)
        {
            return Passed(cycles, scale);
        }

        // The scale itself is uncertain: three equally likely values (Wilson and Hilferty 1931).
        return (Passed(cycles, scale * InverseChiSquare(freedom, -0.9674)) + Passed(cycles, scale * InverseChiSquare(freedom, 0))
            + Passed(cycles, scale * InverseChiSquare(freedom, 0.9674))) / 3;
    }

    private static double InverseChiSquare(double freedom, double z)
    {
        var root = 1 - (2 / (9 * freedom)) + (z * Math.Sqrt(2 / (9 * freedom)));
        return 1 / (root * root * root);
    }

    private double Passed(double cycles, double scale)
    {
        var deviation = Math.Sqrt((Filter.LevelVariance * scale) + DistanceVariance);
        var coupling = deviation > 0 ? Filter.Covariance * scale / deviation : 0;
        var slopeVariance = Math.Max(0, (Filter.SlopeVariance * scale) - (coupling * coupling)) + (SlopeDiffusion * scale * Math.Min(cycles, Span) / 3);
        var sum = 0.0;
        foreach (var (node, weight) in DistanceVariance > 0 ? Wide : Normal)
        {
            var left = Distance - Filter.Level - (node * deviation);
            sum += weight * new FirstPassage(left, Filter.Slope + (node * coupling), Diffusion * scale, slopeVariance).Cdf(cycles);
        }

        // Wear does not heal: of the slopes only those towards the limit count. Others hardly ever reach it.
        return Math.Min(1, sum / Math.Max(0.2, TowardsProbability));
    }
}
