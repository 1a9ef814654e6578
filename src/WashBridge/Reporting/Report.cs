using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;

namespace WashBridge.Reporting;

/// <summary>What a report says: the cycles that ended in a period, and the verdicts reached on their kegs.</summary>
/// <param name="From">Start of the period; null: from the first cycle kept.</param>
/// <param name="Until">End of the period; null: to the last.</param>
/// <param name="Zone">The zone in which times are shown; each is printed with its offset.</param>
/// <param name="Cycles">In the order in which they ended.</param>
/// <param name="Kegs">In the order of the cycles, then of the stations.</param>
internal sealed record Report(Instant? From, Instant? Until, TimeZoneInfo Zone, IReadOnlyList<CycleRecord> Cycles, IReadOnlyList<KegLine> Kegs)
{
    public int Count(Verdict verdict) => Kegs.Count(k => k.Verdict.Verdict == verdict);

    public IEnumerable<KegLine> KegsOf(CycleRecord cycle) => Kegs.Where(k => k.Verdict.CycleId == cycle.Id);

    public string Local(Instant instant) => TimeZoneInfo.ConvertTime(instant.ToDateTimeOffset(), Zone).ToString("yyyy-MM-dd HH:mm:ss zzz");

    public static Report Read(IHistorianReader historian, Instant? from, Instant? until, TimeZoneInfo zone, string? washer = null)
    {
        IReadOnlyList<WashEvent> Events(string kind) => historian.ReadEvents(new EventQuery { Washer = washer, Kinds = [kind], From = from, Until = until });

        var cycles = Events("cycle-ended").OfType<CycleEnded>().OrderBy(e => e.At.Latest).ThenBy(e => e.Id, StringComparer.Ordinal).Select(e => e.Cycle).ToList();
        var order = cycles.Select((cycle, index) => (cycle.Id, index)).ToDictionary(c => c.Id, c => c.index);
        var kegs = Events("keg-judged").OfType<KegJudged>()
            .OrderBy(e => order.GetValueOrDefault(e.Verdict.CycleId, int.MaxValue)).ThenBy(e => e.Verdict.Station)
            .Select(e => new KegLine(e.At.Latest, e.Verdict))
            .ToList();
        return new Report(from, until, zone, cycles, kegs);
    }
}

/// <summary>One keg of a report.</summary>
/// <param name="Ended">When its cycle ended, at the latest.</param>
internal sealed record KegLine(Instant Ended, KegVerdict Verdict)
{
    /// <summary>What a person must read first: the requirements that were not met, else those not proven.</summary>
    public IEnumerable<RequirementResult> Reasons => Verdict.Results.Where(r => r.Verdict == Verdict.Verdict && r.Verdict != Core.Verdicts.Verdict.Met);
}
