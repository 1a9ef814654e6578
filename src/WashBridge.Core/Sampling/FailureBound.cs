namespace WashBridge.Core.Sampling;

/// <summary>What a sample that was opened says about the failure rate, with exact confidence.</summary>
public sealed record FailureBound
{
    /// <summary>Kegs in the lot; null: the bound is on the rate of a process.</summary>
    public required int? Lot { get; init; }

    public required int Opened { get; init; }

    public required int Failed { get; init; }

    /// <summary>0 to 1; of the bounds together where there are two, each then with half the risk.</summary>
    public required double Confidence { get; init; }

    public required bool IsTwoSided { get; init; }

    /// <summary>0 to 1. Of a one-sided bound: 0 for a process, and the share that was seen to fail for a lot.</summary>
    public required double LowerRate { get; init; }

    /// <summary>0 to 1.</summary>
    public required double UpperRate { get; init; }

    /// <summary>Failing kegs of the lot, those opened among them; null for a process.</summary>
    public required int? LowerKegs { get; init; }

    public required int? UpperKegs { get; init; }

    /// <summary>On the rate of a process, after Clopper and Pearson (1934), Biometrika 26, 404: the rates that the sample does not exclude.</summary>
    /// <param name="opened">1 to 1,000,000.</param>
    /// <param name="failed">0 to <paramref name="opened"/>.</param>
    /// <param name="confidence">0.5 to 0.999999.</param>
    /// <exception cref="SamplingException">An entry outside its range.</exception>
    public static FailureBound OfProcess(int opened, int failed, double confidence, bool isTwoSided = false)
    {
        Check(opened, failed, confidence, Entries.MostKegs);
        var risk = Risk(confidence, isTwoSided);
        return new FailureBound
        {
            Lot = null,
            Opened = opened,
            Failed = failed,
            Confidence = confidence,
            IsTwoSided = isTwoSided,
            LowerRate = !isTwoSided || failed == 0 ? 0 : Search.Crossing(p => Tails.AtLeast(failed, opened, p) < risk),
            UpperRate = failed == opened ? 1 : Search.Crossing(p => Tails.AtMost(failed, opened, p) > risk),
            LowerKegs = null,
            UpperKegs = null,
        };
    }

    /// <summary>
    /// On the failing kegs of a finite lot: the numbers that the hypergeometric distribution does not exclude. Exact as the bounds of Buonaccorsi (1987),
    /// The American Statistician 41, 215.
    /// </summary>
    /// <param name="lot">1 to 1,000,000.</param>
    /// <param name="opened">1 to <paramref name="lot"/>.</param>
    /// <param name="failed">0 to <paramref name="opened"/>.</param>
    /// <param name="confidence">0.5 to 0.999999.</param>
    /// <exception cref="SamplingException">An entry outside its range.</exception>
    public static FailureBound OfLot(int lot, int opened, int failed, double confidence, bool isTwoSided = false)
    {
        Entries.Lot(lot);
        Check(opened, failed, confidence, lot);
        var risk = Risk(confidence, isTwoSided);

        // What was seen is certain: so many fail, and so many others do not.
        var (least, most) = (failed, lot - (opened - failed));
        var upper = Search.Last(least, most, kegs => !Entries.IsExcluded(Tails.AtMost(failed, opened, kegs, lot), risk));
        var lower = isTwoSided ? most - Search.Last(0, most - least, kegs => !Entries.IsExcluded(Tails.AtLeast(failed, opened, most - kegs, lot), risk)) : least;
        return new FailureBound
        {
            Lot = lot,
            Opened = opened,
            Failed = failed,
            Confidence = confidence,
            IsTwoSided = isTwoSided,
            LowerRate = (double)lower / lot,
            UpperRate = (double)upper / lot,
            LowerKegs = lower,
            UpperKegs = upper,
        };
    }

    private static void Check(int opened, int failed, double confidence, int most)
    {
        Entries.Within("opened", opened, 1, most);
        Entries.Within("failed", failed, 0, opened);
        Entries.Confidence(confidence);
    }

    private static double Risk(double confidence, bool isTwoSided) => isTwoSided ? (1 - confidence) / 2 : 1 - confidence;
}
