using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Sampling;
using WashBridge.Core.Verdicts;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Kinds;

/// <summary>Kegs that belong together, each by its last washing: all of a washer's in a period, or those named.</summary>
internal static class LotReport
{
    public static Document Make(ReportContext context)
    {
        var wish = context.Wish;
        var (from, until) = context.Period();
        var log = context.Read(wish.Washer, from, until, "keg-judged");
        var washings = log.Of<KegJudged>().OrderBy(k => k.At.Latest).ToList();
        var named = wish.Kegs.ToHashSet(StringComparer.Ordinal);
        var byKeg = washings.Where(k => named.Count == 0 || named.Contains(k.Verdict.KegId)).GroupBy(k => k.Verdict.KegId).ToDictionary(g => g.Key, g => g.ToList(), StringComparer.Ordinal);
        var lot = byKeg.Values.Select(k => k[^1]).OrderBy(k => k.At.Latest).ThenBy(k => k.Verdict.Washer, StringComparer.Ordinal).ThenBy(k => k.Verdict.Station).ToList();
        var missing = wish.Kegs.Where(k => !byKeg.ContainsKey(k)).Distinct().ToList();
        if (lot.Count == 0)
        {
            throw new ReportWishException($"the lot: found no keg{(wish.Kegs.Count > 0 ? " of those named" : "")} that was washed from {context.Local(from)} until {context.Local(until)}{(wish.Washer is { } only ? $" by {only}" : "")}; allowed: a period in which kegs were judged");
        }

        var trace = log.Trace("verdicts of the period; of each keg the last one counts");
        var decisions = new Decisions(context, wish.Washer, from);
        List<Fact> facts =
        [
            new("Kegs", new NumberCell(lot.Count, "") { Traces = [trace] }),
            .. KegTables.Verdicts.Select(v => new Fact(Title(v), new NumberCell(lot.Count(k => k.Verdict.Verdict == v), "") { Traces = [trace] })),
            new("Washer", wish.Washer ?? "all"),
            new("From", from),
            new("Until", until),
            new("Recipes", string.Join(", ", lot.Select(k => $"{k.Verdict.Recipe} version {k.Verdict.RecipeVersion}").Distinct().Order(StringComparer.Ordinal))),
            new("Decided by", string.Join("; ", lot.Select(k => RequirementWords.Rule(k.Verdict.Rule)).Distinct())),
            new("Fingerprint", Fingerprint(lot)),
        ];
        List<Section> sections =
        [
            new("Verdicts", [KegTables.Counts("counts", lot, trace), KegTables.ByRequirement("by-requirement", lot, trace)]),
            new("Kegs that need a person's decision", [KegTables.Open("open-kegs", lot, trace, decisions)]),
            new("What people decided", [Decided(lot, decisions)]),
            new("Kegs looked into", LotInspections.Of(context, lot)),
            .. missing.Count > 0 ? [new Section("Named, but not washed in the period", [new Bullets("", missing)])] : Array.Empty<Section>(),
            new("All kegs of the lot", [All(lot, byKeg, trace, decisions)]),
        ];
        return context.Document(
            $"Lot of {lot.Count} kegs{(wish.Washer is { } washer ? $" of {washer}" : "")}",
            facts,
            sections,
            Words.Claim,
            "Each keg counts once, by its last washing in the period. The lot says nothing of kegs that are not listed, and nothing of what no signal tells (soil in the keg, the state of its valve and spear).",
            "The fingerprint stands for the ids of all kegs but those not met: a sample drawn from this lot (command sampling) names the same one.",
            lot.Exists(k => k.Verdict.KegIdSource == KegIdSource.Made) ? $"Of {lot.Count(k => k.Verdict.KegIdSource == KegIdSource.Made)} kegs nobody told the id: they are named by washer, cycle and station, and one that was washed twice is in the lot twice." : "Every keg's id was told by the controller or a scan.");
    }

    private static Table Decided(List<KegJudged> lot, Decisions decisions)
    {
        var trace = decisions.Trace();
        NumberCell Count(IEnumerable<KegJudged> kegs, KegDecision? decision) => new(kegs.Count(k => decisions.Of(k)?.Decision == decision), "") { Traces = [trace] };
        return new Table("decided", ["verdict", "released", "held", "to be washed again", "not decided"],
        [
            .. KegTables.Verdicts.Select(v => lot.Where(k => k.Verdict.Verdict == v).ToList() is var kegs
                ? (IReadOnlyList<Cell>)[v, Count(kegs, KegDecision.Release), Count(kegs, KegDecision.Hold), Count(kegs, KegDecision.Rewash), Count(kegs, null)]
                : []),
        ]);
    }

    /// <summary>As <c>sampling</c> has it; ids of more than one line have none.</summary>
    public static string Fingerprint(IEnumerable<KegJudged> lot)
    {
        try
        {
            return RandomChoice.Fingerprint([.. lot.Where(k => k.Verdict.Verdict != Verdict.NotMet).Select(k => k.Verdict.KegId)]);
        }
        catch (SamplingException none)
        {
            return $"none ({none.Message})";
        }
    }

    private static Table All(List<KegJudged> lot, Dictionary<string, List<KegJudged>> byKeg, int trace, Decisions decisions) => new(
        "kegs",
        ["keg", "ended", "washer", "station", "verdict", "decision", "washings in the period", "recipe", "cycle"],
        [
            .. lot.Select(k => (IReadOnlyList<Cell>)
            [
                k.Verdict.KegId, k.At.Latest, k.Verdict.Washer, k.Verdict.Station, new VerdictCell(k.Verdict.Verdict) { Traces = [trace] }, decisions.Cell(k), byKeg[k.Verdict.KegId].Count, $"{k.Verdict.Recipe} version {k.Verdict.RecipeVersion}", k.Verdict.CycleId,
            ]),
        ]);

    private static string Title(Verdict verdict) => char.ToUpperInvariant(Words.Of(verdict)[0]) + Words.Of(verdict)[1..];
}
