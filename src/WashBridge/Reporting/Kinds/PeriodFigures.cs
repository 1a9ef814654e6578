using WashBridge.Analysis.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Kinds;

/// <summary>What was counted in a period, at one washer or at all.</summary>
internal sealed class PeriodFigures
{
    private static readonly string[] Kinds =
    [
        "cycle-ended", "keg-judged", "source-restored", "source-lost", "setpoint-changed", "alarm-changed", "drift-found", "drift-ended", "maintenance-recorded", "clock-stepped",
    ];

    public PeriodFigures(ReportContext context, Instant from, Instant until, string? washer)
    {
        (From, Until) = (from, until);
        Log = context.Read(washer, from, until, Kinds);
        Cycles = [.. Log.Of<CycleEnded>().OrderBy(e => e.At.Latest).Select(e => e.Cycle)];
        Kegs = [.. Log.Of<KegJudged>().OrderBy(e => e.At.Latest).ThenBy(e => e.Verdict.Station)];
        Announced = [.. Log.Of<AlarmChanged>().Where(a => AlarmLifeCycle.IsAnnounced(a.From, a.To))];
    }

    public Instant From { get; }

    public Instant Until { get; }

    public EventLog Log { get; }

    public IReadOnlyList<CycleRecord> Cycles { get; }

    public IReadOnlyList<KegJudged> Kegs { get; }

    public IReadOnlyList<AlarmChanged> Announced { get; }

    /// <summary>Stretches in which the sequence of a washer could not be read, cut off at the ends of the period; one that had not ended lasts to its end.</summary>
    public IReadOnlyList<(string Washer, Instant From, Instant Until, string Reason)> Gaps
    {
        get
        {
            var gaps = new List<(string, Instant, Instant, string)>();
            foreach (var washer in Log.Entries.Select(e => e.Event!).GroupBy(e => e.Washer))
            {
                SourceLost? lost = null;
                foreach (var each in washer)
                {
                    switch (each)
                    {
                        case SourceLost { Group: 0 } begun:
                            lost = begun;
                            break;
                        case SourceRestored { Group: 0 } ended:
                            gaps.Add((washer.Key, Instant.Max(ended.Gap.Earliest, From), Instant.Min(ended.Gap.Latest, Until), lost?.Reason ?? "not told in this period"));
                            lost = null;
                            break;
                        default:
                            break;
                    }
                }

                if (lost is not null)
                {
                    gaps.Add((washer.Key, lost.At.Earliest, Until, $"{lost.Reason}; not ended in this period"));
                }
            }

            return gaps;
        }
    }

    /// <summary>The figures that are compared from period to period: what is counted, its value, and its source.</summary>
    public IEnumerable<(string Title, Cell Value)> Compared()
    {
        var (cycles, kegs, gaps) = (Log.OnlyOf("cycle-ended").Trace("cycles"), Log.OnlyOf("keg-judged").Trace("kegs"), Log.OnlyOf("source-lost", "source-restored"));
        yield return ("cycles that ended", Count(Cycles.Count, cycles));
        yield return ("of these completed", Count(Cycles.Count(c => c.Outcome == CycleOutcome.Completed), cycles));
        yield return ("aborted", Count(Cycles.Count(c => c.Outcome == CycleOutcome.Aborted), cycles));
        yield return ("end not seen", Count(Cycles.Count(c => c.Outcome == CycleOutcome.EndUnseen), cycles));
        yield return ("mean time of a completed cycle", MeanTime(cycles));
        yield return ("time washing, all washers together", Washing(cycles));
        yield return ("kegs", Count(Kegs.Count, kegs));
        foreach (var verdict in KegTables.Verdicts)
        {
            yield return ("kegs " + Words.Of(verdict), Count(Kegs.Count(k => k.Verdict.Verdict == verdict), kegs));
        }

        yield return ("share met", Kegs.Count == 0 ? "no kegs" : new NumberCell(100.0 * Kegs.Count(k => k.Verdict.Verdict == Verdict.Met) / Kegs.Count, "%") { Traces = [kegs] });
        var lost = gaps.Trace("connections lost and restored");
        yield return ("times that a washer could not be read", Count(Gaps.Count, lost));
        yield return ("time not read, at most", new NumberCell(Gaps.Sum(g => Math.Max(0, (g.Until - g.From).TotalSeconds)), "s") { Traces = [lost] });
        yield return ("pauses of the programme", Count(Cycles.Sum(c => c.Pauses.Count), cycles));
        yield return ("alarms announced", Count(Announced.Count, Log.OnlyOf("alarm-changed").Trace("changes of alarms")));
        yield return ("settings changed", Count(Log.Of<SetpointChanged>().Count(), Log.OnlyOf("setpoint-changed").Trace("changes of settings")));
        yield return ("maintenance recorded", Count(Log.Of<MaintenanceRecorded>().Count(), Log.OnlyOf("maintenance-recorded").Trace("maintenance")));
        yield return ("clock set", Count(Log.Of<ClockStepped>().Count(), Log.OnlyOf("clock-stepped").Trace("clock set")));
    }

    private static NumberCell Count(int count, int trace) => new(count, "") { Traces = [trace] };

    private Cell MeanTime(int trace)
    {
        var times = Cycles.Where(c => c is { Outcome: CycleOutcome.Completed, StartUnseen: false }).Select(c => c.Start.Until(c.End)).Where(t => t.IsUpperKnown).ToList();
        return times.Count == 0 ? "none seen whole" : new BoundsCell(times.Average(t => t.Lower.TotalSeconds), times.Average(t => t.Upper.TotalSeconds), "s") { Traces = [trace] };
    }

    private BoundsCell Washing(int trace)
    {
        var times = Cycles.Select(CycleSources.Took).ToList();
        return new BoundsCell(times.Sum(t => t.Lower.TotalSeconds), times.TrueForAll(t => t.IsUpperKnown) ? times.Sum(t => t.Upper.TotalSeconds) : null, "s") { Traces = [trace] };
    }
}
