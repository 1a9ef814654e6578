namespace WashBridge.Core.Sampling;

/// <summary>
/// The smallest random sample that excludes a failure rate: were the lot (or the process) that bad or worse, more than the acceptance number would
/// be found to fail with at least the confidence asked.
/// </summary>
public sealed record ExactPlan
{
    /// <summary>Kegs in the lot; null: a process without end, of which kegs are taken.</summary>
    public required int? Lot { get; init; }

    /// <summary>Kegs to open.</summary>
    public required int SampleSize { get; init; }

    /// <summary>The lot is accepted if at most so many of the kegs opened fail.</summary>
    public required int AcceptanceNumber { get; init; }

    /// <summary>Failing kegs of the lot from which on it is excluded; null for a process.</summary>
    public required int? ExcludedKegs { get; init; }

    /// <summary>Failure rate from which on it is excluded, 0 to 1.</summary>
    public required double ExcludedRate { get; init; }

    /// <summary>As asked, 0 to 1.</summary>
    public required double Confidence { get; init; }

    /// <summary>As reached by this whole number of kegs, 0 to 1; not less than <see cref="Confidence"/> but for rounding.</summary>
    public required double ConfidenceReached { get; init; }

    /// <summary>Probability that the plan accepts a process that fails at this rate (0 to 1): the operating characteristic.</summary>
    public double AcceptanceProbability(double rate) => Tails.AtMost(AcceptanceNumber, SampleSize, rate);

    /// <summary>Probability that the plan accepts its lot if so many of its kegs fail.</summary>
    /// <exception cref="SamplingException">More failing kegs than the lot has, or the plan is for a process.</exception>
    public double AcceptanceProbability(int failingKegs)
    {
        var lot = Lot ?? throw new SamplingException("failing kegs: found a plan for a process; allowed: a plan for a lot");
        Entries.Within("failing kegs", failingKegs, 0, lot);
        return Tails.AtMost(AcceptanceNumber, SampleSize, failingKegs, lot);
    }

    /// <summary>For a finite lot, by the hypergeometric distribution.</summary>
    /// <param name="lot">Kegs in the lot, 1 to 1,000,000.</param>
    /// <param name="failingKegs">So many failing kegs, or more, must be excluded: more than the acceptance number, at most the lot.</param>
    /// <param name="acceptanceNumber">Failing kegs that are let pass in the sample, from 0.</param>
    /// <param name="confidence">0.5 to 0.999999.</param>
    /// <exception cref="SamplingException">An entry outside its range.</exception>
    public static ExactPlan ForLot(int lot, int failingKegs, int acceptanceNumber, double confidence)
    {
        Check(lot, acceptanceNumber, confidence);
        return Within(lot, failingKegs, (double)failingKegs / lot, acceptanceNumber, confidence);
    }

    /// <summary>For a finite lot whose failure rate must be below <paramref name="rate"/> (0 to 1): the fewest failing kegs that make up the rate are excluded.</summary>
    /// <exception cref="SamplingException">An entry outside its range.</exception>
    public static ExactPlan ForLot(int lot, double rate, int acceptanceNumber, double confidence)
    {
        Check(lot, acceptanceNumber, confidence);
        Entries.Rate("rate to exclude", rate);

        // 0.07 times 100 is a little more than 7.
        return Within(lot, (int)Math.Ceiling((rate * lot) - 1e-9), rate, acceptanceNumber, confidence);
    }

    /// <summary>For a process, by the binomial distribution: no end of kegs of which each fails at the same rate independently.</summary>
    /// <exception cref="SamplingException">An entry outside its range, or more than 1,000,000 kegs would have to be opened.</exception>
    public static ExactPlan ForProcess(double rate, int acceptanceNumber, double confidence)
    {
        Entries.Rate("rate to exclude", rate);
        Entries.Within("acceptance number", acceptanceNumber, 0, Entries.MostKegs - 1);
        Entries.Confidence(confidence);
        if (!Entries.IsExcluded(Tails.AtMost(acceptanceNumber, Entries.MostKegs, rate), 1 - confidence))
        {
            throw new SamplingException(FormattableString.Invariant($"rate to exclude: found {rate * 100:0.######} %, which takes more than {Entries.MostKegs:N0} kegs; allowed: a higher rate"));
        }

        var size = Smallest(acceptanceNumber + 1, Entries.MostKegs, n => Tails.AtMost(acceptanceNumber, n, rate), 1 - confidence);
        return new ExactPlan
        {
            Lot = null,
            SampleSize = size,
            AcceptanceNumber = acceptanceNumber,
            ExcludedKegs = null,
            ExcludedRate = rate,
            Confidence = confidence,
            ConfidenceReached = Tails.AtLeast(acceptanceNumber + 1, size, rate),
        };
    }

    private static void Check(int lot, int acceptanceNumber, double confidence)
    {
        Entries.Lot(lot);
        Entries.Within("acceptance number", acceptanceNumber, 0, lot - 1);
        Entries.Confidence(confidence);
    }

    private static ExactPlan Within(int lot, int failingKegs, double rate, int acceptanceNumber, double confidence)
    {
        // A lot with no more failing kegs than the acceptance number is accepted even if every keg is opened.
        if (failingKegs <= acceptanceNumber || failingKegs > lot)
        {
            throw new SamplingException(FormattableString.Invariant(
                $"failing kegs to exclude: found {failingKegs:N0} of a lot of {lot:N0}; allowed: more than the acceptance number {acceptanceNumber:N0}, at most {lot:N0}"));
        }

        var size = Smallest(acceptanceNumber + 1, lot, n => Tails.AtMost(acceptanceNumber, n, failingKegs, lot), 1 - confidence);
        return new ExactPlan
        {
            Lot = lot,
            SampleSize = size,
            AcceptanceNumber = acceptanceNumber,
            ExcludedKegs = failingKegs,
            ExcludedRate = rate,
            Confidence = confidence,
            ConfidenceReached = Tails.AtLeast(acceptanceNumber + 1, size, failingKegs, lot),
        };
    }

    /// <summary>Acceptance never becomes likelier when more are opened, so that halving finds the first size that fits.</summary>
    private static int Smallest(int least, int most, Func<int, double> acceptance, double risk) => Search.First(least, most, n => Entries.IsExcluded(acceptance(n), risk));
}
