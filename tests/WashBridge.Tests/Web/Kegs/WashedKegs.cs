using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;

namespace WashBridge.Tests.Web.Kegs;

/// <summary>Verdicts as they come, for tests of pages.</summary>
internal static class WashedKegs
{
    public static KegJudged Judged(string keg, Verdict verdict, Instant at, string washer = "north", int station = 1, string? cycle = null, int version = 1)
    {
        cycle ??= $"{washer}-{at}";
        return new KegJudged
        {
            Id = $"{cycle}/verdict/{station}/{version}",
            Washer = washer,
            At = TimeBounds.At(at),
            CycleId = cycle,
            Verdict = new KegVerdict
            {
                KegId = keg,
                KegIdSource = KegIdSource.Scan,
                CycleId = cycle,
                Washer = washer,
                Station = station,
                Recipe = "full-wash",
                RecipeVersion = version,
                Rule = DecisionRule.Bounds,
                Verdict = verdict,
                Results =
                [
                    new RequirementResult { Requirement = "all-phases", Verdict = Verdict.Met, Evidence = "Ran in the order asked: met." },
                    new RequirementResult
                    {
                        Requirement = "sanitiser-hold", Verdict = verdict, Lower = 30.2, Upper = 30.6, Estimate = 30.4, StandardUncertainty = 0.1, Limit = 34, Unit = "s",
                        Evidence = "Hold in sanitise (pass 1) lasted 30.2 to 30.6 s; at least 34 s is asked.",
                    },
                ],
            },
        };
    }
}
