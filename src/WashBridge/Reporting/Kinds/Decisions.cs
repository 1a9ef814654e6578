using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Kinds;

/// <summary>What people decided about washings, up to the end of the log: a decision comes after the washing, often in another period.</summary>
internal sealed class Decisions
{
    private readonly EventLog _log;
    private readonly Dictionary<(string Keg, string? Cycle), LogEntry> _last = [];
    private int? _trace;

    /// <param name="from">Of the first washing concerned.</param>
    public Decisions(ReportContext context, string? washer, Instant from)
    {
        _log = context.Read(washer, from, new Instant(long.MaxValue), "keg-decided");
        foreach (var entry in _log.Entries)
        {
            var decided = (KegDecided)entry.Event!;
            _last[(decided.KegId, decided.CycleId)] = entry;
        }
    }

    public KegDecided? Of(KegJudged keg) => _last.TryGetValue((keg.Verdict.KegId, keg.Verdict.CycleId), out var entry) ? (KegDecided)entry.Event! : null;

    /// <summary>The last decision about a washing, who took it, when and why.</summary>
    public Cell Cell(KegJudged keg) => Of(keg) is { } decided
        ? new TextCell($"{RecordWords.Of(decided.Decision)} by {RecordWords.Who(decided.Act)}, {_log.Context.Local(decided.At.Latest)}{(decided.Act.Reason.Length > 0 ? $": {decided.Act.Reason}" : "")}") { Traces = [Trace()] }
        : "not decided";

    public int Trace() => _trace ??= (_log with { Until = null }).Trace("decisions about kegs, to the end of the log");
}
