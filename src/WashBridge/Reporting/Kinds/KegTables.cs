using WashBridge.Core.Cycles;
using WashBridge.Core.Verdicts;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Kinds;

/// <summary>Kegs as tables, the same in every report.</summary>
internal static class KegTables
{
    public static readonly Verdict[] Verdicts = [Verdict.NotMet, Verdict.NotProven, Verdict.Met];

    /// <summary>Kegs that need a person's decision, those not met first, each with the first reason.</summary>
    public static Table Open(string id, IEnumerable<KegJudged> kegs, int trace, Decisions decisions) => new(
        id,
        ["keg", "ended", "washer", "station", "verdict", "first reason", "decision", "cycle"],
        [
            .. kegs.Where(k => k.Verdict.Verdict != Verdict.Met).OrderBy(k => k.Verdict.Verdict).ThenBy(k => k.At.Latest).ThenBy(k => k.Verdict.Station).Select(k => (IReadOnlyList<Cell>)
            [
                k.Verdict.KegId, k.At.Latest, k.Verdict.Washer, k.Verdict.Station, new VerdictCell(k.Verdict.Verdict) { Traces = [trace] }, FirstReason(k), decisions.Cell(k), k.Verdict.CycleId,
            ]),
        ])
    {
        Empty = "None: every keg met its recipe.",
    };

    public static string FirstReason(KegJudged keg) =>
        keg.Verdict.Results.FirstOrDefault(r => r.Verdict == keg.Verdict.Verdict && r.Verdict != Verdict.Met) is { } first ? $"{first.Requirement}: {first.Evidence}" : "";

    /// <summary>Which requirements failed how often.</summary>
    public static Table ByRequirement(string id, IReadOnlyCollection<KegJudged> kegs, int trace) => new(
        id,
        ["requirement", "recipe", "not met", "not proven", "met"],
        [
            .. kegs.SelectMany(k => k.Verdict.Results.Select(r => (Key: (r.Requirement, Recipe: $"{k.Verdict.Recipe} version {k.Verdict.RecipeVersion}"), r.Verdict)))
                .GroupBy(r => r.Key)
                .OrderBy(g => g.Key.Recipe, StringComparer.Ordinal).ThenByDescending(g => g.Count(r => r.Verdict == Verdict.NotMet)).ThenByDescending(g => g.Count(r => r.Verdict == Verdict.NotProven)).ThenBy(g => g.Key.Requirement, StringComparer.Ordinal)
                .Select(g => (IReadOnlyList<Cell>)[g.Key.Requirement, g.Key.Recipe, .. Verdicts.Select(v => new NumberCell(g.Count(r => r.Verdict == v), "") { Traces = [trace] })]),
        ]);

    /// <summary>How many kegs came to each verdict, by washer and in all.</summary>
    public static Table Counts(string id, IReadOnlyCollection<KegJudged> kegs, int trace)
    {
        IReadOnlyList<Cell> Row(string name, IReadOnlyCollection<KegJudged> of) =>
            [name, Counted(of.Count, trace), .. Verdicts.Select(v => Counted(of.Count(k => k.Verdict.Verdict == v), trace)), of.Count == 0 ? "" : new NumberCell(100.0 * of.Count(k => k.Verdict.Verdict == Verdict.Met) / of.Count, "%") { Traces = [trace] }];

        var washers = kegs.GroupBy(k => k.Verdict.Washer).OrderBy(g => g.Key, StringComparer.Ordinal).ToList();
        return new Table(id, ["washer", "kegs", "not met", "not proven", "met", "share met"], [.. washers.Count > 1 ? washers.Select(g => Row(g.Key, [.. g])) : [], Row(washers.Count == 1 ? washers[0].Key : "all", kegs)]);
    }

    private static NumberCell Counted(int count, int trace) => new(count, "") { Traces = [trace] };
}
