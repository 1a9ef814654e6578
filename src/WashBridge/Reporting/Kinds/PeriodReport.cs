using System.Globalization;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;
using WashBridge.Core.Verdicts;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Kinds;

/// <summary>A shift or a month: what was washed, what kept it from being washed, what changed, and how that compares with the period before.</summary>
internal sealed class PeriodReport
{
    private static readonly string[] Baths = ["caustic", "acid", "sanitiser"];

    private readonly ReportContext _context;
    private readonly ReportPeriod _period;
    private readonly PeriodFigures _figures;
    private readonly PeriodFigures? _before;
    private readonly AnalysisReport _analysis;

    private PeriodReport(ReportContext context, ReportPeriod period)
    {
        (_context, _period) = (context, period);
        _figures = new PeriodFigures(context, period.From, period.Until, context.Wish.Washer);
        _before = period.Before is var (from, until) && (context.First is null || until > context.First) ? new PeriodFigures(context, from, until, context.Wish.Washer) : null;
        var findings = context.ReadUntil(context.Wish.Washer, period.Until, [.. Analysing.AnalysisInputs.Findings]);
        _analysis = AnalysisReport.Of([.. findings.Of<WashEvent>()], period.From, period.Until, context.Zone);
    }

    public static Document Shift(ReportContext context) => new PeriodReport(context, PeriodFinder.Shift(context)).Make();

    public static Document Month(ReportContext context) => new PeriodReport(context, PeriodFinder.Month(context)).Make();

    private Document Make()
    {
        var kegs = _figures.Log.OnlyOf("keg-judged").Trace("kegs");
        List<Fact> facts =
        [
            new("From", _period.From),
            new("Until", _period.Until),
            new("Washer", _context.Wish.Washer ?? "all"),
            new("Compared with", Compared(_period.Before)),
        ];
        if (_context.Last is { } last && last < _period.Until)
        {
            facts.Add(new("Not over", $"the log ends at {_context.Local(last)}: the figures are of what there was until then"));
        }

        List<Section> sections =
        [
            new("At a glance", [Compared()]),
            new("Verdicts by washer", [KegTables.Counts("counts", _figures.Kegs, kegs), .. _figures.Kegs.Count > 0 ? [KegTables.ByRequirement("by-requirement", _figures.Kegs, kegs)] : Array.Empty<Block>()]),
            .. _context.Wish.Kind == ReportKind.Month ? [new Section("Day by day", [Days(kegs)])] : Array.Empty<Section>(),
            new("Kegs that need a person's decision", [KegTables.Open("open-kegs", _figures.Kegs, kegs, new Decisions(_context, _context.Wish.Washer, _period.From))]),
            new("What could not be read", [Gaps()]),
            new("Alarms announced", [Alarms()]),
            new("Drifts begun and ended", [Drifts()]),
            new("Settings changed", [Settings()]),
            new("Baths and chemicals", [Chemicals(), new SubHeading("Titrations"), Titrations(), new SubHeading("Baths made up anew"), Changes()]),
            new("What people did", [Records()]),
        ];
        return _context.Document(
            _period.Title,
            facts,
            sections,
            Words.Claim,
            "Every washing counts: a keg that was washed twice is counted twice. A cycle, and what was told of it, belongs to the period in which it ended at the latest. What was not read is not judged: see what could not be read.",
            "A difference from the period before is no finding: whether it is more than chance, the charts of drifts tell.");
    }

    private string Compared((Instant From, Instant Until)? before) => (before, _context.First) switch
    {
        (null, _) => "nothing: no shift before it in the site's week",
        (var (_, until), { } first) when until <= first => $"nothing: the log begins at {_context.Local(first)}",
        (var (from, until), { } first) when from < first => $"{_context.Local(from)} until {_context.Local(until)}, of which the log lacks what was before {_context.Local(first)}",
        var ((from, until), _) => $"{_context.Local(from)} until {_context.Local(until)}",
    };

    private Table Compared()
    {
        var before = _before?.Compared().ToDictionary(f => f.Title, f => f.Value);
        return new Table("compared", ["figure", "this period", "period before", "change"],
        [
            .. _figures.Compared().Select(f =>
            {
                var other = before?[f.Title] ?? "not recorded";
                return (IReadOnlyList<Cell>)[f.Title, f.Value, other, Change(f.Value, other)];
            }),
        ]);
    }

    private static Cell Change(Cell now, Cell before) => (now, before) switch
    {
        (NumberCell a, NumberCell b) => new NumberCell(a.Value - b.Value, a.Unit) { IsChange = true, Traces = [.. a.Traces, .. b.Traces] },
        _ => "",
    };

    private Table Days(int trace)
    {
        var days = _figures.Kegs.GroupBy(k => PeriodFinder.Date(k.At.Latest, _context.Zone)).ToDictionary(g => g.Key, g => g.ToList());
        var cycles = _figures.Log.Of<CycleEnded>().GroupBy(e => PeriodFinder.Date(e.At.Latest, _context.Zone)).ToDictionary(g => g.Key, g => g.Count());
        var ended = _figures.Log.OnlyOf("cycle-ended").Trace("cycles");
        return new Table("days", ["day", "cycles", "kegs", "not met", "not proven", "met", "share met"],
        [
            .. days.Keys.Concat(cycles.Keys).Distinct().Order().Select(day =>
            {
                var kegs = days.GetValueOrDefault(day) ?? [];
                NumberCell Count(int count, int source) => new(count, "") { Traces = [source] };
                return (IReadOnlyList<Cell>)
                [
                    day.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture), Count(cycles.GetValueOrDefault(day), ended), Count(kegs.Count, trace), .. KegTables.Verdicts.Select(v => Count(kegs.Count(k => k.Verdict.Verdict == v), trace)),
                    kegs.Count == 0 ? "no kegs" : new NumberCell(100.0 * kegs.Count(k => k.Verdict.Verdict == Verdict.Met) / kegs.Count, "%") { Traces = [trace] },
                ];
            }),
        ])
        {
            Empty = "Nothing was washed.",
        };
    }

    private Table Gaps()
    {
        var trace = _figures.Log.OnlyOf("source-lost", "source-restored").Trace("connections lost and restored");
        return new Table("gaps", ["washer", "last read before", "first read after", "not read, at most", "why"],
            [.. _figures.Gaps.Select(g => (IReadOnlyList<Cell>)[g.Washer, g.From, g.Until, new NumberCell(Math.Max(0, (g.Until - g.From).TotalSeconds), "s") { Traces = [trace] }, g.Reason])])
        {
            Empty = "Nothing: the sequence of every washer was read all the time.",
        };
    }

    private Table Alarms()
    {
        var trace = _figures.Announced.Count == 0 ? 0 : _figures.Log.OnlyOf("alarm-changed").Trace("changes of alarms");
        return new Table("alarms", ["alarm", "washer", "announced", "priority", "what", "at the end of the period"],
        [
            .. _figures.Announced.Select(a => (IReadOnlyList<Cell>)
            [
                a.Alarm, a.Washer, new InstantCell(a.At.Latest) { Traces = [trace] }, AnalysisWords.Of(a.Priority), a.Text.What, _analysis.Alarms.StateOf(a.Washer, a.Alarm) is { } state ? AnalysisWords.Of(state) : "",
            ]),
        ]);
    }

    private Table Drifts()
    {
        var trace = _figures.Log.OnlyOf("drift-found", "drift-ended");
        return new Table("drifts", ["what", "washer", "since", "found", "by how much", "ended"],
        [
            .. _analysis.Drifts.Select(d => (IReadOnlyList<Cell>)
            [
                AnalysisWords.Title(d.Finding), d.Found.Washer, d.Finding.Onset.At, new InstantCell(d.FirstFound) { Traces = [trace.Trace("drifts found and ended")] }, AnalysisWords.Size(d.Finding), d.Ended is { } ended ? $"{_context.Local(ended.At.Latest)}: {ended.Reason}" : "still drifts",
            ]),
        ])
        {
            Empty = "Nothing drifted, as far as it could be measured.",
        };
    }

    private Table Settings()
    {
        var log = _figures.Log.OnlyOf("setpoint-changed");
        return new Table("settings", ["setting", "washer", "changed", "from", "to"],
            [.. log.Of<SetpointChanged>().Select(s => (IReadOnlyList<Cell>)[s.Setpoint, s.Washer, new InstantCell(s.At.Latest) { Traces = [log.Trace("changes of settings")] }, new NumberCell(s.OldValue, s.Unit), new NumberCell(s.NewValue, s.Unit)])]);
    }

    private Table Chemicals()
    {
        var rows = new List<IReadOnlyList<Cell>>();
        foreach (var signal in _context.Historian.Signals.Where(s => s is { Type: SignalType.Quantity, Station: 0 } && Baths.Contains(s.Name.Split('.')[^1])).Where(s => _context.Wish.Washer is null || s.Washer == _context.Wish.Washer)
                     .OrderBy(s => s.Washer, StringComparer.Ordinal).ThenBy(s => s.Name, StringComparer.Ordinal))
        {
            var now = Hours(signal, _period.From, _period.Until);
            var before = _period.Before is var (from, until) ? Hours(signal, from, until) : null;
            if (now is null)
            {
                continue;
            }

            rows.Add(
            [
                signal.Name, signal.Washer, Number(now.Value.Low, signal, now), Number(now.Value.High, signal, now), Number(now.Value.Last, signal, now),
                before is { } b ? new BoundsCell(b.Low, b.High, signal.Unit) { Traces = [b.Trace] } : "not recorded",
            ]);
        }

        return new Table("baths", ["signal", "washer", "lowest", "highest", "last", "period before, lowest to highest"], rows) { Empty = "No bath was measured." };

        static Cell Number(double value, Signal signal, (double, double, double, int Trace)? hours) => new NumberCell(value, signal.Unit) { Traces = [hours!.Value.Trace] };
    }

    /// <summary>By whole hours: the hour in which the period begins or ends counts in full.</summary>
    private (double Low, double High, double Last, int Trace)? Hours(Signal signal, Instant from, Instant until)
    {
        var hours = _context.Historian.ReadHourly(signal, from, until).Where(h => h.Count > 0).ToList();
        return hours.Count == 0 ? null : (hours.Min(h => h.Minimum), hours.Max(h => h.Maximum), hours[^1].Last, _context.Traces.Add(new HourTrace(signal.ToString(), signal.Unit, hours.Count, hours.Sum(h => h.Count))
        {
            Of = "bath, by whole hours",
            Washer = signal.Washer,
            From = from,
            Until = until,
            FirstSequence = null,
            LastSequence = null,
        }));
    }

    /// <summary>Cycles since somebody recorded that a bath was changed.</summary>
    private Table Changes()
    {
        var log = _context.ReadUntil(_context.Wish.Washer, _period.Until, "maintenance-recorded", "bath-changed");
        var baths = log.Of<WashEvent>().Select(e => e is BathChanged changed ? changed.AsMaintenance() : (MaintenanceRecorded)e)
            .Where(m => m.Component.Kind == ComponentKind.Bath && m.Work == MaintenanceKind.Replaced).GroupBy(m => (m.Washer, m.Component.Key)).Select(g => g.MaxBy(m => m.At.Latest)!).ToList();
        return new Table("bath-changes", ["bath", "washer", "last changed", "by", "cycles since, until the end of the period"],
        [
            .. baths.Select(b =>
            {
                var since = _context.Read(b.Washer, b.At.Latest, _period.Until, "cycle-ended");
                return (IReadOnlyList<Cell>)[b.Component.Key, b.Washer, new InstantCell(b.At.Latest) { Traces = [log.Trace("maintenance and baths so far")] }, b.By, new NumberCell(since.Entries.Count, "cycles") { Traces = [since.Trace($"cycles since {b.Component.Key} was changed")] }];
            }),
        ])
        {
            Empty = "Nobody has recorded that a bath was changed.",
        };
    }

    /// <summary>As corrected: what was told first stands in the records.</summary>
    private Table Titrations()
    {
        var log = _context.Read(_context.Wish.Washer, _period.From, _period.Until, "titration-recorded");
        var corrections = log.Entries.Count == 0 ? [] : _context.Read(_context.Wish.Washer, _period.From, new Instant(long.MaxValue), "record-corrected").Of<RecordCorrected>().Where(c => c.Of == "titration-recorded").ToList();
        return new Table("titrations", ["bath", "washer", "sample taken", "strength", "method", "by", "corrected"],
        [
            .. log.Entries.Select(e =>
            {
                var own = corrections.Count > 0 && RecordTables.At(_context.Historian, e.Sequence) is { } record ? corrections.Where(c => c.Number == record.Number).ToList() : [];
                var titration = (TitrationRecorded)Corrections.Apply(e.Event!, own);
                return (IReadOnlyList<Cell>)
                [
                    titration.Bath, titration.Washer, titration.At.Latest, new NumberCell(titration.Strength, titration.Unit) { Traces = [log.Trace("titrations")] }, titration.Method, RecordWords.Who(titration.Act),
                    own.Count == 0 ? "" : $"told first: {RecordWords.What(e.Event!)}",
                ];
            }),
        ])
        {
            Empty = "None was recorded.",
        };
    }

    /// <summary>All that people are answerable for in the period, but scans.</summary>
    private Table Records()
    {
        var log = _context.Read(_context.Wish.Washer, _period.From, _period.Until, RecordTables.Kinds);
        return RecordTables.Of("records", log.Entries.Select(e => (RecordTables.At(_context.Historian, e.Sequence)?.Number, e.Event!, (WashEvent?)null, log.Trace("what people did"))), "Nothing was recorded.");
    }
}
