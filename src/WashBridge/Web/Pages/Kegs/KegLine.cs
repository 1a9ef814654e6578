using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;

namespace WashBridge.Web.Pages.Kegs;

/// <summary>One washing of a keg in the list.</summary>
/// <param name="Judged">Its last verdict.</param>
/// <param name="Standing">How the keg stands now; of a washing after which it was washed again, what was decided then or <see cref="KegStanding.NoVerdict"/>.</param>
/// <param name="IsLast">The keg was not washed again since.</param>
public sealed record KegLine(KegJudged Judged, KegStanding Standing, bool IsLast)
{
    public KegVerdict Verdict => Judged.Verdict;

    /// <summary>What a person must read first.</summary>
    public RequirementResult? Reason => Verdict.Verdict == Core.Verdicts.Verdict.Met ? null : Verdict.Results.FirstOrDefault(r => r.Verdict == Verdict.Verdict);

    /// <summary>Can be released together with others: washed last, met and undecided. What was found when it was opened is looked at once more before.</summary>
    public bool IsPlain => IsLast && Standing == KegStanding.Undecided && Verdict.Verdict == Core.Verdicts.Verdict.Met;
}

/// <summary>How many kegs stand in which way, read without their whole histories.</summary>
internal static class KegStandings
{
    private const string Judged = "keg-judged";
    private const string Decided = "keg-decided";
    private const string Corrected = "record-corrected";

    /// <summary>Lines for the last verdicts of washings, in the order given.</summary>
    public static IReadOnlyList<KegLine> Of(IHistorianReader historian, IReadOnlyList<KegJudged> washings)
    {
        var marks = historian.ReadKegMarks([.. washings.Select(w => w.Verdict.KegId)]);
        var decisions = historian.ReadEventsAt([.. marks.Values.Select(LastDecision).OfType<KegMark>().Select(m => m.Sequence)]).ToDictionary(e => e.Sequence, e => e.Event as KegDecided);
        var now = marks.ToDictionary(m => m.Key, m => Standing(historian, m.Key, m.Value, decisions), StringComparer.Ordinal);
        return [.. washings.Select(w =>
        {
            var of = marks[w.Verdict.KegId];
            var last = of.LastOrDefault(m => m.Kind == Judged && IsFirst(of, m))?.CycleId;
            return last == w.Verdict.CycleId ? new KegLine(w, now[w.Verdict.KegId], IsLast: true) : new KegLine(w, KegStanding.NoVerdict, IsLast: false);
        })];
    }

    /// <summary>The same as <see cref="KegFile.Standing"/>, from the last decision and the washings after it. Where a record was corrected, the whole file is read.</summary>
    private static KegStanding Standing(IHistorianReader historian, string id, IReadOnlyList<KegMark> marks, Dictionary<long, KegDecided?> decisions)
    {
        if (marks.Any(m => m.Kind == Corrected))
        {
            return KegFile.Of(id, historian.ReadKeg(id)).Standing;
        }

        if (LastDecision(marks) is not { } last)
        {
            return marks.Any(m => m.Kind == Judged) ? KegStanding.Undecided : KegStanding.NoVerdict;
        }

        // One that cannot be read any more.
        if (!decisions.TryGetValue(last.Sequence, out var decided) || decided is null)
        {
            return KegFile.Of(id, historian.ReadKeg(id)).Standing;
        }

        if (decided.Decision == KegDecision.Hold)
        {
            return KegStanding.Held;
        }

        return marks.Any(m => m.Kind == Judged && m.Sequence > last.Sequence && IsFirst(marks, m))
            ? KegStanding.Undecided
            : decided.Decision == KegDecision.Release ? KegStanding.Released : KegStanding.ToRewash;
    }

    private static KegMark? LastDecision(IReadOnlyList<KegMark> marks) => marks.LastOrDefault(m => m.Kind == Decided);

    /// <summary>The first verdict on its washing: a later one on the same opens nothing anew.</summary>
    private static bool IsFirst(IReadOnlyList<KegMark> marks, KegMark judged) => !marks.Any(m => m.Kind == Judged && m.CycleId == judged.CycleId && m.Sequence < judged.Sequence);
}
