namespace WashBridge.Analysis.Upkeep.Forecasting;

/// <summary>Where wear stands and how long it will take to the limit.</summary>
public sealed record WearOutlook
{
    /// <summary>Smoothed index now.</summary>
    public required double Now { get; init; }

    /// <summary>Probability that it is beyond the limit already.</summary>
    public required double ReachedProbability { get; init; }

    /// <summary>Probability that it goes towards the limit, given that it goes at all.</summary>
    public required double TowardsProbability { get; init; }

    /// <summary>Change of the index per cycle by the median of pairwise slopes since the trend likely began, and its standard uncertainty.</summary>
    public required double Slope { get; init; }

    public required double SlopeUncertainty { get; init; }

    /// <summary>Probability of so much rise (towards the limit) by chance: Mann-Kendall over the blocks since the trend likely began, autocorrelation allowed for.</summary>
    public required double ChanceProbability { get; init; }

    /// <summary>Cycles since the reference at which the trend likely began.</summary>
    public required double Onset { get; init; }

    /// <summary>Power of the scale in which it runs straightest.</summary>
    public required double Power { get; init; }

    /// <summary>Cycles left: median, and between which 8 in 10 lie; infinite where the limit may never be reached.</summary>
    public required double Median { get; init; }

    public required double Lower { get; init; }

    public required double Upper { get; init; }
}
