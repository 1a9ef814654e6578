using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;

namespace WashBridge.Core.Tests.Kegs;

/// <summary>What happens to an invented keg, entry by entry.</summary>
internal sealed class KegDays
{
    public const string Keg = "K-1";

    private readonly List<KegEntry> _entries = [];
    private int _cycles;

    public KegFile File => KegFile.Of(Keg, _entries);

    public KegDays Washed(Verdict verdict = Verdict.Met, string keg = Keg) => Judged(++_cycles, verdict, keg);

    /// <summary>The last washing again, by another version of the recipe.</summary>
    public KegDays JudgedAgain(Verdict verdict) => Judged(_cycles, verdict, Keg, version: 2);

    public KegDays Decided(KegDecision decision) => Add(new KegDecided
    {
        Id = $"d{_entries.Count}", Washer = "w1", At = default, CycleId = _cycles > 0 ? $"c{_cycles}" : null, Act = Act, KegId = Keg, Station = 1, Decision = decision,
    });

    public KegDays Inspected(bool passed, string keg = Keg) => Add(new KegInspected
    {
        Id = $"i{_entries.Count}", Washer = "w1", At = default, Act = Act, KegId = keg, Inspection = InspectionKind.SpearPull, Passed = passed, Found = "something",
    });

    /// <summary>A correction of the last entry.</summary>
    public KegDays Corrected(string field, string? value) => Add(new RecordCorrected
    {
        Id = $"x{_entries.Count}", Washer = "w1", At = default, Act = Act, Number = _entries.Count, Of = "keg-inspected", Field = field, NewValue = value,
    });

    private static Act Act => new() { By = "T. Ester" };

    private KegDays Judged(int cycle, Verdict verdict, string keg, int version = 1) => Add(new KegJudged
    {
        Id = $"c{cycle}/s1/verdict/{version}", Washer = "w1", At = TimeBounds.At(new Instant(cycle)), CycleId = $"c{cycle}",
        Verdict = new KegVerdict
        {
            KegId = keg, KegIdSource = KegIdSource.Scan, CycleId = $"c{cycle}", Washer = "w1", Station = 1, Recipe = "standard", RecipeVersion = version,
            Rule = new DecisionRule(DecisionMethod.Bounds, 0), Verdict = verdict, Results = [],
        },
    });

    private KegDays Add(WashEvent washEvent)
    {
        _entries.Add(new KegEntry(_entries.Count + 1, _entries.Count + 1, washEvent));
        return this;
    }
}
