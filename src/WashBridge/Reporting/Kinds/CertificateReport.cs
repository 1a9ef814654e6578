using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Records;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Reporting.Documents;
using WashBridge.Reporting.Pictures;

namespace WashBridge.Reporting.Kinds;

/// <summary>One washing of one keg: what was asked, what was measured, what follows, and from which values.</summary>
internal sealed class CertificateReport
{
    private readonly ReportContext _context;
    private readonly KegFile _file;
    private readonly KegWash _wash;
    private readonly KegJudged _judged;
    private readonly EventLog _judgements;
    private readonly EventLog _ended;
    private readonly CycleRecord? _cycle;
    private readonly Recipe? _recipe;

    private CertificateReport(ReportContext context, KegFile file, KegWash wash)
    {
        var judged = wash.Judged;
        (_context, _file, _wash, _judged) = (context, file, wash, judged);
        _judgements = context.ReadCycle(judged.Verdict.CycleId, "keg-judged");
        _judgements = _judgements with { Entries = [.. _judgements.Entries.Where(e => e.Event!.Id == judged.Id)] };
        _ended = context.ReadCycle(judged.Verdict.CycleId, "cycle-ended");
        _cycle = _ended.Of<CycleEnded>().FirstOrDefault()?.Cycle;
        _recipe = context.Recipe(judged.Verdict.Washer, judged.Verdict.Recipe, judged.Verdict.RecipeVersion);
    }

    private KegVerdict Verdict => _judged.Verdict;

    public static Document Make(ReportContext context)
    {
        var (file, wash) = KegFinder.Find(context);
        return new CertificateReport(context, file, wash).Make();
    }

    private Document Make()
    {
        var sources = _cycle is null ? null : new CycleSources(_context, _cycle, _recipe);
        List<Section> sections = [new("Requirements", Requirements(sources)), new("What people decided and found", People())];
        if (_cycle is { } cycle && sources is not null)
        {
            sections.Add(new Section("The cycle", Cycle(cycle, sources)));
            if (Quantities(cycle, sources) is { Count: > 0 } quantities)
            {
                sections.Add(new Section("What was measured", quantities));
            }

            if (cycle.Setpoints.Count > 0)
            {
                sections.Add(new Section("Settings of the controller when the cycle began", [Settings(cycle, sources)]));
            }
        }

        sections.Add(new Section("Other washings of this keg", [Others()]));
        return _context.Document($"Keg certificate: {Verdict.KegId}", Facts(), sections, Claims(sources));
    }

    private string[] Claims(CycleSources? sources) =>
    [
        Words.Claim,
        "It is about this one washing of this one keg, as far as the signals named below tell. What no signal tells (soil in the keg, the state of its valve and spear, damage, what happened before and after) is not judged. "
        + "It is no release: that is a person's decision.",
        "Bounds are printed rounded outwards to the thousandth, evidence sentences to the nearest; CSV, Parquet and JSON carry them unrounded.",
        .. Verdict.KegIdSource == KegIdSource.Made ? ["Nobody told this keg's own id: it is named by washer, cycle and station."] : Array.Empty<string>(),
        .. sources is { HasFrames: false } ? ["The values behind this cycle are no longer kept, or were never stored: the verdict and the record of the cycle stand as they were written then, and cannot be reached again from values."] : Array.Empty<string>(),
        .. _recipe is null && _context.Site is not null ? [$"The site's files no longer have {Verdict.Recipe} version {Verdict.RecipeVersion}: limits are told as the verdict has them."] : Array.Empty<string>(),
    ];

    private List<Fact> Facts()
    {
        var judged = _judgements.Trace("the verdict");
        var facts = new List<Fact>
        {
            new("Verdict", new VerdictCell(Verdict.Verdict) { Traces = [judged] }),
            new("Decision", Decision()),
            new("The keg stands", $"{RecordWords.Of(_file.Standing)}{(_file.LastWash is { } last && last != _wash ? "; it was washed again since" : "")}"),
            new("Keg", Verdict.KegId),
            new("Id told by", Source(Verdict.KegIdSource)),
            new("Washer", Verdict.Washer),
            new("Station", new NumberCell(Verdict.Station, "")),
            new("Cycle", Verdict.CycleId),
        };
        if (_cycle is { } cycle)
        {
            var ended = _ended.Trace("the record of the cycle");
            facts.Add(new("Began", (cycle.StartUnseen ? (Cell)$"not seen; first seen {CellWords.Edge(cycle.Start.Wall, _context.Zone)}" : cycle.Start) with { Traces = [ended] }));
            facts.Add(new("Ended", ((Cell)cycle.End) with { Traces = [ended] }));
            facts.Add(new("Took", ((Cell)CycleSources.Took(cycle)) with { Traces = [ended] }));
            facts.Add(new("Programme", Words.Of(cycle.Outcome) + (cycle.Programme is { } number ? $", number {number}" : "")));
        }

        facts.Add(new("Recipe", $"{(_recipe is { Title.Length: > 0 } ? _recipe.Title + ", " : "")}{Verdict.Recipe} version {Verdict.RecipeVersion}"));
        facts.Add(new("Decided by", RequirementWords.Rule(Verdict.Rule)));
        return facts;
    }

    private Cell Decision()
    {
        if (_wash.Decisions.Count == 0)
        {
            return "nobody has decided about this washing";
        }

        var decided = _wash.Decisions[^1];
        var entry = _file.Entries.First(e => e.Event.Id == decided.Id);
        return new TextCell($"{RecordWords.Of(decided.Decision)} by {RecordWords.Who(decided.Act)} on {_context.Local(decided.At.Latest)}{(decided.Act.Reason.Length > 0 ? $": {decided.Act.Reason}" : "")}")
        {
            Traces = [_context.Trace("decisions and inspections", new LogEntry(entry.Sequence, null, entry.Event))],
        };
    }

    private List<Block> Requirements(CycleSources? sources)
    {
        var judged = _judgements.Trace("the verdict");
        var rows = Verdict.Results.Select(r =>
        {
            var requirement = _recipe?.Requirements.FirstOrDefault(q => q.Id == r.Requirement);
            IReadOnlyList<int> traces = [judged, .. sources?.Of(r, Verdict.Station) ?? []];
            return (IReadOnlyList<Cell>)
            [
                RequirementWords.Title(requirement, r.Requirement),
                RequirementWords.Asked(requirement, r),
                r.Lower is { } lower ? new BoundsCell(lower, r.Upper, r.Unit) { Traces = traces } : (Cell)"no number" with { Traces = traces },
                r.Estimate is { } estimate ? new NumberCell(estimate, r.Unit) { Traces = [judged] } : "",
                r.StandardUncertainty is { } uncertainty ? new NumberCell(uncertainty, r.Unit) { Traces = [judged] } : "",
                r.Verdict,
                r.Evidence,
            ];
        });
        return [new Table("requirements", ["requirement", "asked", "measured", "best estimate", "standard uncertainty", "verdict", "evidence"], [.. rows])];
    }

    private List<Block> Cycle(CycleRecord cycle, CycleSources sources)
    {
        var traces = sources.Sequence();
        var steps = from phase in cycle.Phases
                    from pass in phase.Passes
                    from step in pass.Steps
                    select (IReadOnlyList<Cell>)
                    [
                        phase.Id, pass.Number, Words.Of(step.Kind) + (step.Interrupted ? ", interrupted" : ""), ((Cell)step.Start) with { Traces = traces }, ((Cell)step.End) with { Traces = traces },
                        step.Seen ? ((Cell)step.Held) with { Traces = traces } : "not seen",
                    ];
        var blocks = new List<Block> { StripPicture.Of(cycle), new Paragraph(StripPicture.Legend, ParagraphKind.Note), new Table("steps", ["phase", "pass", "step", "began", "ended", "held without interruption"], [.. steps]) };
        var station = cycle.Stations.FirstOrDefault(s => s.Station == Verdict.Station);
        if (station is { Drains.Count: > 0 })
        {
            var drained = sources.OfDrains(Verdict.Station);
            blocks.Add(new SubHeading("Drains of this station"));
            blocks.Add(new Table("drains", ["phase", "pass", "drain step began", "read dry", "drain time", "sensor"],
                [.. station.Drains.Select(d => (IReadOnlyList<Cell>)[d.Phase, d.Pass, d.Start, d.Dry is { } dry ? (Cell)dry with { Traces = drained } : "never within the step", ((Cell)d.Time) with { Traces = drained }, d.Shared ? "one for all stations: the time of the slowest" : "this station's own"])]));
        }

        if (cycle.Gaps.Count > 0)
        {
            blocks.Add(new SubHeading("Stretches in which nothing could be read"));
            blocks.Add(new Table("gaps", ["gap", "at most"], [.. cycle.Gaps.Select(g => (IReadOnlyList<Cell>)[new EdgeCell(g), new NumberCell(g.Width.TotalSeconds, "s") { Traces = traces }])]));
        }

        if (cycle.Pauses.Count > 0)
        {
            blocks.Add(new SubHeading("Pauses"));
            blocks.Add(new Table("pauses", ["began", "ended", "lasted"], [.. cycle.Pauses.Select(p => (IReadOnlyList<Cell>)[p.Start, p.End, ((Cell)p.Duration) with { Traces = traces }])]));
        }

        return blocks;
    }

    private List<Block> Quantities(CycleRecord cycle, CycleSources sources)
    {
        var blocks = new List<Block>();
        var whole = CycleSources.Whole(cycle);
        var seen = new HashSet<Signal>();
        foreach (var requirement in _recipe?.Requirements ?? [])
        {
            if (sources.Quantity(requirement, Verdict.Station) is not var (signal, samples) || !seen.Add(signal))
            {
                continue;
            }

            var courses = Courses(samples, whole.Earliest);
            if (courses.Sum(c => c.Count) < 2)
            {
                continue;
            }

            var limit = requirement is TimeBeyond beyond ? beyond.Value : (double?)null;
            blocks.Add(new CoursePicture
            {
                Title = $"{signal} during the cycle, {signal.Unit}: from {CellWords.Number(courses.SelectMany(c => c).Min(p => p.Y))} to {CellWords.Number(courses.SelectMany(c => c).Max(p => p.Y))}.{(limit is { } asked ? $" The recipe names {CellWords.Number(asked)} {signal.Unit}." : "")}",
                Upwards = $"{signal.Name}, {signal.Unit}",
                Along = "s since the cycle began at the earliest",
                Courses = courses,
                Limit = limit,
            }.Draw());
        }

        return blocks;
    }

    /// <summary>A bad value ends a line; what was held before the cycle begins it.</summary>
    private static List<List<(double X, double Y)>> Courses(IReadOnlyList<Sample> samples, Instant from)
    {
        var courses = new List<List<(double X, double Y)>> { new() };
        foreach (var sample in samples)
        {
            if (sample.Quality == Quality.Bad || !double.IsFinite(sample.Value.Number))
            {
                courses.Add([]);
                continue;
            }

            var at = Math.Max(0, (sample.At.Latest - from).TotalSeconds);
            courses[^1].Add((at, sample.Value.Number));
        }

        return [.. courses.Where(c => c.Count > 0)];
    }

    private Table Settings(CycleRecord cycle, CycleSources sources)
    {
        var traces = sources.OfSetpoints();
        var rows = cycle.Setpoints.OrderBy(s => s.Key, StringComparer.Ordinal).Select(s =>
        {
            var name = s.Key.StartsWith("setpoint.", StringComparison.Ordinal) ? s.Key["setpoint.".Length..] : s.Key;
            var approved = _recipe?.Setpoints.GetValueOrDefault(name);
            return (IReadOnlyList<Cell>)
            [
                name, new NumberCell(s.Value, approved?.Unit ?? Unit(s.Key)) { Traces = traces }, approved is null ? "free" : new NumberCell(approved.Value, approved.Unit),
                approved is null ? "" : approved.Holds(s.Value) ? "as approved" : "OFF THE RECIPE",
            ];
        });
        return new Table("settings", ["setting", "set", "approved", "state"], [.. rows]);
    }

    private string Unit(string setpoint) => _context.Historian.Signals.FirstOrDefault(s => s.Washer == Verdict.Washer && s.Name == (setpoint.StartsWith("setpoint.", StringComparison.Ordinal) ? setpoint : "setpoint." + setpoint))?.Unit ?? "";

    /// <summary>Decisions about this washing, inspections after it, and verdicts that were reached again.</summary>
    private List<Block> People()
    {
        var own = _file.Entries.Where(e => e.Holds is KegDecided decided ? _wash.Decisions.Any(d => d.Id == decided.Id) : e.Holds is KegInspected inspected && _wash.Inspections.Any(i => i.Id == inspected.Id));
        var blocks = new List<Block>
        {
            RecordTables.Of("people", own.Select(e => (e.Number, e.Event, e.Corrected, _context.Trace("decisions and inspections", new LogEntry(e.Sequence, null, e.Event)))), "Nobody has decided about this washing, and nobody has looked into the keg after it."),
        };
        if (_wash.Verdicts.Count > 1)
        {
            blocks.Add(new SubHeading("Verdicts on this washing, the first first; none replaces another"));
            blocks.Add(new Table("verdicts", ["recipe", "verdict", "decided by"], [.. _wash.Verdicts.Select(v => (IReadOnlyList<Cell>)[$"{v.Verdict.Recipe} version {v.Verdict.RecipeVersion}", v.Verdict.Verdict, RequirementWords.Rule(v.Verdict.Rule)])]));
        }

        return blocks;
    }

    private Table Others() => new(
        "other-washings",
        ["ended", "washer", "station", "verdict", "decision", "recipe", "cycle"],
        [
            .. _file.Washes.Where(w => w != _wash).Select(w => (IReadOnlyList<Cell>)
            [
                w.Judged.At.Latest, w.Judged.Verdict.Washer, w.Judged.Verdict.Station, w.Verdict, w.Decisions.Count > 0 ? RecordWords.Of(w.Decisions[^1].Decision) : "not decided",
                $"{w.Judged.Verdict.Recipe} version {w.Judged.Verdict.RecipeVersion}", w.CycleId,
            ]),
        ])
    {
        Empty = "None that the log holds.",
    };

    private static string Source(KegIdSource source) => source switch
    {
        KegIdSource.Tag => "the controller",
        KegIdSource.Scan => "a scan",
        _ => "nobody: made from washer, cycle and station",
    };
}
