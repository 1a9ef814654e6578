using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Charts;

/// <summary>
/// Limits of a figure's charts that together give one false alarm in so many cycles. Made once and shared by all charts with the same promise.
/// </summary>
/// <remarks>
/// A wide and a narrow pair of cumulative sums look for lasting shifts of about 0.6 and 1.6 standard deviations, a slow moving average for smaller shifts and for ramps,
/// and single cycles far out are looked for with a twentieth of the budget. With known parameters and normal values this takes at most 1.13 times as long as the best
/// cumulative sum of the same promise for any step of 0.5 to 2 standard deviations, whatever the promise from 1,000 to 100,000. A second pair gains a few
/// per cent for small steps.
/// </remarks>
internal sealed class ChartDesign
{
    public const double Lambda = 0.02;
    public const double NarrowK = 0.3;
    public const double WideK = 0.8;
    private const double IndividualsShare = 0.05;
    private const double EwmaShare = 0.2;
    private const double CusumShare = 0.4;

    /// <param name="every">Cycles for one false alarm; 100 to 1e9.</param>
    public ChartDesign(double every)
    {
        RunLengths.Check(every, 100, 1e9, nameof(every));
        Every = every;
        var run = every / (1 - IndividualsShare) * ChartOverlap.Factor(every);
        EwmaLimit = EwmaRunLength.LimitTwoSided(Lambda, run / EwmaShare);
        NarrowLimit = CusumRunLength.LimitTwoSided(NarrowK, run / CusumShare);
        WideLimit = CusumRunLength.LimitTwoSided(WideK, run / CusumShare);
        TailProbability = IndividualsShare / every / 2;
    }

    /// <summary>The promise.</summary>
    public double Every { get; }

    /// <summary>L of the moving average.</summary>
    public double EwmaLimit { get; }

    /// <summary>h of the sums for small shifts.</summary>
    public double NarrowLimit { get; }

    /// <summary>h of the sums for large shifts.</summary>
    public double WideLimit { get; }

    /// <summary>A single value signals where the probability of one as far out, on its side, is below this.</summary>
    public double TailProbability { get; }
}
