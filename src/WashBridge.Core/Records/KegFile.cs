using WashBridge.Core.Cycles;
using WashBridge.Core.Verdicts;

namespace WashBridge.Core.Records;

/// <summary>Something that is known of a keg.</summary>
/// <param name="Sequence">Its place in the log.</param>
/// <param name="Number">Its number in the chain of records; null: it is no record, such as a verdict.</param>
/// <param name="Event">As it was told.</param>
/// <param name="Corrected">As corrections have it; null: nobody corrected it.</param>
public sealed record KegEntry(long Sequence, long? Number, WashEvent Event, WashEvent? Corrected = null)
{
    /// <summary>What holds: as corrected, or as it was told.</summary>
    public WashEvent Holds => Corrected ?? Event;
}

/// <summary>How a keg stands.</summary>
public enum KegStanding
{
    /// <summary>No washing of it was judged.</summary>
    NoVerdict = 0,

    /// <summary>Washed and judged; nobody has decided yet.</summary>
    Undecided = 1,
    Held = 2,
    Released = 3,
    ToRewash = 4,
}

/// <summary>One washing of a keg, with what came of it.</summary>
/// <param name="CycleId">The cycle.</param>
/// <param name="Verdicts">What was found of it, the first first; more than one where it was judged again with another recipe.</param>
/// <param name="Decisions">What people decided about it.</param>
/// <param name="Inspections">What was found in the keg after it, as corrected.</param>
public sealed record KegWash(string CycleId, IReadOnlyList<KegJudged> Verdicts, IReadOnlyList<KegDecided> Decisions, IReadOnlyList<KegInspected> Inspections)
{
    /// <summary>The last verdict: the one that decisions go by.</summary>
    public KegJudged Judged => Verdicts[^1];

    public Verdict Verdict => Judged.Verdict.Verdict;

    /// <summary>Somebody looked into the keg after this washing and it did not pass.</summary>
    public bool FailedInspection => Inspections.Any(i => !i.Passed);
}

/// <summary>All that is known of one keg id, in the order of the log.</summary>
public sealed record KegFile
{
    public required string KegId { get; init; }

    public required KegStanding Standing { get; init; }

    /// <summary>The last decision; null: none yet, or a later washing opened a new one.</summary>
    public KegDecided? Decision { get; init; }

    /// <summary>Everything, the first first: scans, verdicts, decisions, inspections, draws, corrections.</summary>
    public required IReadOnlyList<KegEntry> Entries { get; init; }

    /// <summary>Its washings, the first first.</summary>
    public required IReadOnlyList<KegWash> Washes { get; init; }

    public KegWash? LastWash => Washes.Count > 0 ? Washes[^1] : null;

    /// <summary>Folds what the historian has of the keg.</summary>
    /// <param name="kegId">The keg.</param>
    /// <param name="entries">In the order of the log. What is not about this keg, as corrected, counts for nothing, but is kept to be shown.</param>
    public static KegFile Of(string kegId, IEnumerable<KegEntry> entries)
    {
        var all = Corrections.Applied([.. entries]);
        var washes = new List<WashDraft>();
        var (standing, decision) = (KegStanding.NoVerdict, (KegDecided?)null);
        foreach (var entry in all)
        {
            switch (entry.Holds)
            {
                case KegJudged judged when judged.Verdict.KegId == kegId:
                    var wash = washes.Find(w => w.CycleId == judged.Verdict.CycleId && w.Verdicts[0].Verdict.Station == judged.Verdict.Station);
                    if (wash is not null)
                    {
                        wash.Verdicts.Add(judged);
                        break;
                    }

                    washes.Add(new WashDraft(judged));

                    // A hold stands until somebody lifts it: it may be for what no washing mends.
                    if (standing != KegStanding.Held)
                    {
                        (standing, decision) = (KegStanding.Undecided, null);
                    }

                    break;
                case KegDecided decided when decided.KegId == kegId:
                    (standing, decision) = (StandingAfter(decided.Decision), decided);
                    Of(washes, decided.CycleId)?.Decisions.Add(decided);
                    break;
                case KegInspected inspected when inspected.KegId == kegId:
                    // One that was corrected to be of this keg names the other's cycle: it belongs to the washing before it.
                    (Of(washes, inspected.CycleId) ?? Of(washes, null))?.Inspections.Add(inspected);
                    break;
            }
        }

        return new KegFile { KegId = kegId, Standing = standing, Decision = decision, Entries = all, Washes = [.. washes.Select(w => w.Made())] };
    }

    private static KegStanding StandingAfter(KegDecision decision) => decision switch
    {
        KegDecision.Hold => KegStanding.Held,
        KegDecision.Release => KegStanding.Released,
        _ => KegStanding.ToRewash,
    };

    private static WashDraft? Of(List<WashDraft> washes, string? cycle) => washes.FindLast(w => cycle is null || w.CycleId == cycle);

    private sealed class WashDraft(KegJudged judged)
    {
        public string CycleId { get; } = judged.Verdict.CycleId;

        public List<KegJudged> Verdicts { get; } = [judged];

        public List<KegDecided> Decisions { get; } = [];

        public List<KegInspected> Inspections { get; } = [];

        public KegWash Made() => new(CycleId, Verdicts, Decisions, Inspections);
    }
}
