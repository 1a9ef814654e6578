using System.Globalization;

namespace WashBridge.Core.Sampling;

/// <summary>What a plan or a result proves, in one plain sentence, and what it does not.</summary>
public static class Proof
{
    /// <summary>What holds of every plan and result; to be shown with each.</summary>
    public static IReadOnlyList<string> Limits { get; } =
    [
        "It holds only where the kegs to open were chosen at random from all kegs of the lot, and all of them were opened.",
        "It says nothing about any single keg that was not opened.",
        "Errors of the inspection itself (a fault overlooked, or seen where there is none) are not included.",
    ];

    /// <summary>In addition, for plans and bounds of a process.</summary>
    public const string ProcessLimit = "Of a process it holds only while nothing changes: every keg fails at the same rate, independently of the others.";

    /// <summary>In addition, for plans indexed by the AQL.</summary>
    public const string AqlLimit = "The AQL is no promise about a lot that was accepted: it is the rate that a run of lots should keep below, and it works only together with the switching rules.";

    public static string Of(ExactPlan plan)
    {
        var worst = plan is { Lot: { } lot, ExcludedKegs: { } kegs }
            ? $"If {Count(kegs)} or more of the {Count(lot)} kegs of the lot failed ({(IsRate(plan) ? Percent(plan.ExcludedRate) : Nearest((double)kegs / lot))} or more)"
            : $"If {Percent(plan.ExcludedRate)} or more of the washer's kegs failed";
        var found = plan.AcceptanceNumber == 0 ? "at least one failing keg" : $"at least {Count(plan.AcceptanceNumber + 1)} failing kegs";
        return $"{worst}, a random sample of {Kegs(plan.SampleSize)} would show {found} with a probability of at least {Floor(plan.ConfidenceReached)}"
            + $"; so, if it shows {(plan.AcceptanceNumber == 0 ? "none" : $"no more than {Count(plan.AcceptanceNumber)}")}, that is excluded with {Percent(plan.Confidence)} confidence.";
    }

    public static string Of(AttributePlan plan)
    {
        var doubtful = 1 - plan.AcceptanceProbability(plan.Aql / 100);
        var rule = plan.RejectionNumber == plan.AcceptanceNumber + 1
            ? $"the lot is accepted if {(plan.AcceptanceNumber == 0 ? "none fails" : $"at most {Count(plan.AcceptanceNumber)} fail{(plan.AcceptanceNumber == 1 ? "s" : "")}")}, and rejected from {Count(plan.RejectionNumber)} on"
            : $"the lot is accepted below {Count(plan.RejectionNumber)} failing kegs and rejected from there on; more than {Count(plan.AcceptanceNumber)} end reduced inspection";
        var open = $"Of {Kegs(plan.SampleSize)} opened at random, {rule}.";
        return plan.IsWholeLot
            ? $"{open} That is the whole lot: every failing keg is seen."
            : $"{open} A washer that fails at the AQL of {Percent(plan.Aql / 100)} has {Chance(doubtful)} of its lots rejected; only one that fails at {Ceiling(plan.RateAccepted(0.1))} or more has nine lots in ten rejected.";
    }

    public static string Of(FailureBound bound)
    {
        var seen = $"{Count(bound.Failed)} of {Kegs(bound.Opened)} opened failed: ";
        if (bound is not { Lot: { } lot, LowerKegs: { } lower, UpperKegs: { } upper })
        {
            return bound.IsTwoSided
                ? $"{seen}with {Percent(bound.Confidence)} confidence between {Floor(bound.LowerRate)} and {Ceiling(bound.UpperRate)} of the washer's kegs fail."
                : $"{seen}with {Percent(bound.Confidence)} confidence no more than {Ceiling(bound.UpperRate)} of the washer's kegs fail.";
        }

        if (bound.Opened == lot)
        {
            return $"{seen}that is the whole lot, so that exactly {Count(upper)} of it failed.";
        }

        return bound.IsTwoSided
            ? $"{seen}with {Percent(bound.Confidence)} confidence between {Count(lower)} and {Count(upper)} of the {Count(lot)} kegs of the lot fail ({Floor(bound.LowerRate)} to {Ceiling(bound.UpperRate)}, those opened included)."
            : $"{seen}with {Percent(bound.Confidence)} confidence no more than {Count(upper)} of the {Count(lot)} kegs of the lot fail ({Ceiling(bound.UpperRate)}, those opened included).";
    }

    /// <summary>A rate (0 to 1) in per cent as it was entered.</summary>
    public static string Percent(double rate) => (rate * 100).ToString("0.######", CultureInfo.InvariantCulture) + " %";

    /// <summary>In per cent with three digits, rounded up: an upper bound stays one.</summary>
    public static string Ceiling(double rate) => Rounded(rate, Math.Ceiling);

    /// <summary>In per cent with three digits, rounded down: a lower bound stays one.</summary>
    public static string Floor(double rate) => Rounded(rate, Math.Floor);

    /// <summary>A probability in per cent with one decimal; what is not certain is not shown as if it were.</summary>
    public static string Chance(double probability) => probability switch
    {
        > 0 and < 0.0005 => "below 0.1 %",
        > 0.9995 and < 1 => "above 99.9 %",
        _ => (probability * 100).ToString("0.0", CultureInfo.InvariantCulture) + " %",
    };

    /// <summary>In per cent with three digits, for what is no bound.</summary>
    public static string Nearest(double rate) => Rounded(rate, Math.Round);

    private static bool IsRate(ExactPlan plan) => plan.ExcludedRate * plan.Lot != plan.ExcludedKegs;

    private static string Rounded(double rate, Func<double, double> round)
    {
        var percent = rate * 100;
        if (percent <= 0)
        {
            return "0 %";
        }

        // Near 100 % it is the distance from there that counts.
        var digits = (int)Math.Clamp(2 - Math.Floor(Math.Log10(percent > 99 && percent < 100 ? 100 - percent : percent)), 0, 9);
        var scale = Math.Pow(10, digits);

        // What is a whole number of these digits but for the last bit of the floating point is not rounded further.
        var scaled = percent * scale;
        var whole = Math.Round(scaled);
        var value = Math.Abs(scaled - whole) < 1e-9 * Math.Max(1, whole) ? whole : round(scaled);
        return (value / scale).ToString("0.#########", CultureInfo.InvariantCulture) + " %";
    }

    private static string Kegs(int count) => count == 1 ? "1 keg" : $"{Count(count)} kegs";

    private static string Count(int count) => count.ToString("N0", CultureInfo.InvariantCulture);
}
