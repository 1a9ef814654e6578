using WashBridge.Core.Recipes;

namespace WashBridge.Core.Verdicts;

/// <summary>From a measured interval and a limit to a verdict, by the recipe's rule.</summary>
internal static class Decision
{
    /// <summary>The measured quantity must reach <paramref name="limit"/>.</summary>
    public static Verdict AtLeast(Measurement measured, double limit, DecisionRule rule)
    {
        if (measured.Lower >= limit)
        {
            return Verdict.Met;
        }

        if (measured.Upper < limit)
        {
            return Verdict.NotMet;
        }

        return ByRisk(measured.ProbabilityAtLeast?.Invoke(limit), rule);
    }

    /// <summary>The measured quantity must not exceed <paramref name="limit"/>.</summary>
    public static Verdict AtMost(Measurement measured, double limit, DecisionRule rule)
    {
        if (measured.Upper <= limit)
        {
            return Verdict.Met;
        }

        if (measured.Lower > limit)
        {
            return Verdict.NotMet;
        }

        return ByRisk(1 - measured.ProbabilityAtLeast?.Invoke(limit), rule);
    }

    /// <summary>Not met outweighs not proven, which outweighs met; nothing at all proves nothing.</summary>
    public static Verdict Worst(IEnumerable<Verdict> verdicts) => verdicts.DefaultIfEmpty(Verdict.NotProven).MaxBy(Weight);

    public static Verdict Best(IEnumerable<Verdict> verdicts) => verdicts.DefaultIfEmpty(Verdict.NotProven).MinBy(Weight);

    public static int Weight(Verdict verdict) => verdict switch
    {
        Verdict.Met => 0,
        Verdict.NotProven => 1,
        _ => 2,
    };

    /// <summary>JCGM 106:2012, 8.3: met when a false acceptance is at most as probable as the risk, not met when a false rejection is.</summary>
    private static Verdict ByRisk(double? conformance, DecisionRule rule)
    {
        if (rule.Method != DecisionMethod.GuardBand || conformance is not { } probability)
        {
            return Verdict.NotProven;
        }

        if (probability >= 1 - rule.Risk)
        {
            return Verdict.Met;
        }

        return probability <= rule.Risk ? Verdict.NotMet : Verdict.NotProven;
    }
}
