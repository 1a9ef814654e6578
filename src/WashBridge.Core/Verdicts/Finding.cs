using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;

namespace WashBridge.Core.Verdicts;

/// <summary>What was found about one requirement, or about one pass of it.</summary>
/// <param name="Verdict">The verdict.</param>
/// <param name="Measured">What was measured; null where nothing was.</param>
/// <param name="Limit">The limit that decided.</param>
/// <param name="Evidence">One sentence.</param>
internal sealed record Finding(Verdict Verdict, Measurement? Measured, double? Limit, string Evidence)
{
    /// <summary>Judges a measured quantity by one limit or by both; of two, the worse is shown.</summary>
    /// <param name="what">How the sentence begins, as <c>Hold in sanitise (pass 1) lasted</c>.</param>
    public static Finding OfLimits(Measurement measured, double? atLeast, double? atMost, DecisionRule rule, string what)
    {
        var findings = new List<Finding>();
        if (atLeast is { } least)
        {
            var probability = measured.ProbabilityAtLeast?.Invoke(least);
            findings.Add(Of(Decision.AtLeast(measured, least, rule), measured, least, "at least", probability, rule, what));
        }

        if (atMost is { } most)
        {
            var probability = 1 - measured.ProbabilityAtLeast?.Invoke(most);

            // Short enough because nobody saw it is no proof.
            var verdict = Decision.AtMost(measured, most, rule);
            verdict = measured.IsUnseen && verdict == Verdict.Met ? Verdict.NotProven : verdict;
            findings.Add(Of(verdict, measured, most, "at most", probability, rule, what));
        }

        return findings.Count > 0 ? findings.MaxBy(f => Decision.Weight(f.Verdict))! : new Finding(Verdict.NotProven, measured, null, $"{what} {Wording.Interval(measured)}, but the recipe gives no limit.");
    }

    public static Finding NotProven(string evidence, Measurement? measured = null, double? limit = null) => new(Verdict.NotProven, measured, limit, evidence);

    /// <summary>
    /// Something that the record lacks: it did not happen if everything was watched, else nobody knows. What was begun just before a stop, between two
    /// polls, left no trace either: a time can have been as long as the edge of the end is wide.
    /// </summary>
    public static Finding Absent(CycleView view, string what, string unit, double? limit = null)
    {
        if (!view.IsWhole)
        {
            return new Finding(Verdict.NotProven, new Measurement(0, null, unit), limit, $"{what} in what was watched, but part of the cycle was not: not proven.");
        }

        var end = view.Cycle.End;
        var longest = unit == "s" && view.Cycle.Outcome == CycleOutcome.Aborted ? SteadyLine.Between(end.Earliest, end.Latest)?.TotalSeconds : 0;
        return longest is { } upper && !(upper >= limit)
            ? new Finding(Verdict.NotMet, new Measurement(0, upper, unit), limit, $"{what}, and the whole cycle was watched: not met.")
            : new Finding(Verdict.NotProven, new Measurement(0, longest, unit), limit, $"{what} that anybody saw before the programme was stopped: not proven.");
    }

    public RequirementResult For(Requirement requirement) => new()
    {
        Requirement = requirement.Id,
        Verdict = Verdict,
        Lower = Measured?.Lower,
        Upper = Measured?.Upper,
        Estimate = Measured?.Estimate,
        StandardUncertainty = Measured?.StandardUncertainty,
        Limit = Limit,
        Unit = Measured?.Unit ?? "",
        Evidence = Evidence,
    };

    private static Finding Of(Verdict verdict, Measurement measured, double limit, string sense, double? probability, DecisionRule rule, string what)
    {
        var odds = rule.Method == DecisionMethod.GuardBand && probability is { } p ? $" (conforms with probability {Wording.Number(p)}, accepted risk {Wording.Number(rule.Risk)})" : "";
        return new Finding(verdict, measured, limit, $"{what} {Wording.Interval(measured)}; {sense} {Wording.Quantity(limit, measured.Unit)} is asked: {Wording.Of(verdict)}{odds}.");
    }
}
