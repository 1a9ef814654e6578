using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Kinds;

/// <summary>Something was not as approved: what, since when, and which kegs were washed since. Of a keg that did not meet its recipe, or of a setting.</summary>
internal static class DeviationReport
{
    private const string Claim =
        "\"Since\" is when it was first told; it can have begun at any time after the last reading that still showed the approved state. Kegs are listed by when they were washed, not by what they suffered: the verdict of each says what is known of it.";

    /// <summary>How far around a keg the same failure is looked for.</summary>
    private static readonly TimeSpan Around = TimeSpan.FromDays(7);

    /// <summary>No cycle that ran within a stretch is looked for longer after it.</summary>
    private static readonly TimeSpan LongestCycle = TimeSpan.FromHours(12);

    public static Document Make(ReportContext context) => (context.Wish.Keg, context.Wish.Setpoint) switch
    {
        ({ Length: > 0 }, null) => OfKeg(context),
        (null, { Length: > 0 } setpoint) => OfSetting(context, setpoint),
        (null, null) => throw new ReportWishException("the deviation: found neither a keg nor a setpoint; allowed: one of them"),
        _ => throw new ReportWishException("the deviation: found both a keg and a setpoint; allowed: one of them"),
    };

    private static Document OfKeg(ReportContext context)
    {
        var (_, wash) = KegFinder.Find(context);
        var judged = wash.Judged;
        var verdict = judged.Verdict;
        if (verdict.Verdict == Verdict.Met)
        {
            throw new ReportWishException($"the deviation: found keg {verdict.KegId}, whose verdict in cycle {verdict.CycleId} is met; allowed: a keg that is not met or not proven, or another washing of it by its cycle");
        }

        var own = context.ReadCycle(verdict.CycleId, "keg-judged");
        var trace = own.Trace("verdicts of the cycle");
        var log = context.Read(verdict.Washer, judged.At.Latest - Around, judged.At.Latest + Around, "keg-judged");
        var washed = log.Of<KegJudged>().OrderBy(k => k.At.Latest).ThenBy(k => k.Verdict.Station).ToList();
        var decisions = new Decisions(context, verdict.Washer, judged.At.Latest - Around);
        var near = log.Trace($"verdicts of {Around.Days} days before and after");
        List<Fact> facts =
        [
            new("Keg", verdict.KegId),
            new("Verdict", new VerdictCell(verdict.Verdict) { Traces = [trace] }),
            new("Decision", decisions.Cell(judged)),
            new("Washer", verdict.Washer),
            new("Station", new NumberCell(verdict.Station, "")),
            new("Cycle", verdict.CycleId),
            new("Ended", new InstantCell(judged.At.Latest) { Traces = [trace] }),
            new("Recipe", $"{verdict.Recipe} version {verdict.RecipeVersion}"),
            new("Decided by", RequirementWords.Rule(verdict.Rule)),
        ];
        var recipe = context.Recipe(verdict.Washer, verdict.Recipe, verdict.RecipeVersion);
        var failed = verdict.Results.Where(r => r.Verdict != Verdict.Met).ToList();
        var sections = new List<Section>
        {
            new("What was not as asked", [new Table("deviations", ["requirement", "asked", "measured", "verdict", "evidence"],
            [
                .. failed.Select(r => (IReadOnlyList<Cell>)
                [
                    RequirementWords.Title(recipe?.Requirements.FirstOrDefault(q => q.Id == r.Requirement), r.Requirement), RequirementWords.Asked(recipe?.Requirements.FirstOrDefault(q => q.Id == r.Requirement), r),
                    r.Lower is { } lower ? new BoundsCell(lower, r.Upper, r.Unit) { Traces = [trace] } : "no number", r.Verdict, r.Evidence,
                ]),
            ])]),
        };
        sections.AddRange(failed.Select(r => Run(context, judged, r, washed, near, decisions)));
        sections.Add(new Section("Alarms and settings within an hour before and after", Circumstances(context, verdict.Washer, judged.At.Latest - TimeSpan.FromHours(1), judged.At.Latest + TimeSpan.FromHours(1))));
        return context.Document($"Deviation: keg {verdict.KegId}", facts, sections, Words.Claim, Claim);
    }

    /// <summary>The washings in a row, around this one, in which the same requirement had the same verdict.</summary>
    private static Section Run(ReportContext context, KegJudged judged, RequirementResult result, List<KegJudged> washed, int trace, Decisions decisions)
    {
        bool Fails(KegJudged keg) => keg.Verdict.Results.Any(r => r.Requirement == result.Requirement && r.Verdict == result.Verdict);

        // Kegs of one cycle were washed together: cycles are looked through, not kegs.
        var cycles = washed.GroupBy(k => k.Verdict.CycleId).Select(g => g.ToList()).ToList();
        var at = cycles.FindIndex(c => c[0].Verdict.CycleId == judged.Verdict.CycleId);
        var (first, last) = (at, at);
        while (first > 0 && cycles[first - 1].Exists(Fails))
        {
            first--;
        }

        while (last + 1 < cycles.Count && cycles[last + 1].Exists(Fails))
        {
            last++;
        }

        var kegs = cycles[first..(last + 1)].SelectMany(c => c).Where(Fails).ToList();
        return new Section($"{result.Requirement}: since when, and which kegs",
        [
            new Table($"since-{result.Requirement}", ["figure", "value"],
            [
                ["first cycle of the run ended", new InstantCell(cycles[first][0].At.Latest) { Traces = [trace] }],
                ["last cycle of the run ended", new InstantCell(cycles[last][0].At.Latest) { Traces = [trace] }],
                ["cycles of the run", new NumberCell(last - first + 1, "") { Traces = [trace] }],
                [$"kegs with the verdict {Words.Of(result.Verdict)} in it", new NumberCell(kegs.Count, "") { Traces = [trace] }],
                ["cycle before it", first == 0 ? $"none within {Around.Days} days" : $"{cycles[first - 1][0].Verdict.CycleId}, ended {context.Local(cycles[first - 1][0].At.Latest)}"],
                ["cycle after it", last + 1 == cycles.Count ? "none yet" : $"{cycles[last + 1][0].Verdict.CycleId}, ended {context.Local(cycles[last + 1][0].At.Latest)}"],
            ]),
            new Table($"kegs-{result.Requirement}", ["keg", "ended", "station", "verdict of the keg", "evidence", "decision", "cycle"],
            [
                .. kegs.Select(k => (IReadOnlyList<Cell>)[k.Verdict.KegId, k.At.Latest, k.Verdict.Station, k.Verdict.Verdict, k.Verdict.Results.First(r => r.Requirement == result.Requirement).Evidence, decisions.Cell(k), k.Verdict.CycleId]),
            ]),
        ]);
    }

    private static Document OfSetting(ReportContext context, string setpoint)
    {
        var name = setpoint.StartsWith("setpoint.", StringComparison.Ordinal) ? setpoint["setpoint.".Length..] : setpoint;
        var (from, until) = context.Period();
        var log = context.ReadUntil(context.Wish.Washer, until, "setpoint-deviated", "setpoint-conformed");
        var all = DeviationLine.Of(log.Of<WashEvent>()).Where(d => d.Conformed is null || d.Conformed >= from).ToList();
        var lines = all.Where(d => d.Finding.Setpoint == name).ToList();
        if (lines.Count == 0)
        {
            var known = all.Select(d => d.Finding.Setpoint).Distinct().Order(StringComparer.Ordinal).ToList();
            throw new ReportWishException($"setpoint: found {name}, which did not leave the recipe from {context.Local(from)} until {context.Local(until)}; allowed: {(known.Count == 0 ? "one that did, and none did" : string.Join(", ", known))}");
        }

        var trace = log.Trace("settings that left the recipe, and came back");
        List<Fact> facts =
        [
            new("Setting", name),
            new("Washer", context.Wish.Washer ?? "all"),
            new("From", from),
            new("Until", until),
            new("Times off the recipe", new NumberCell(lines.Count, "") { Traces = [trace] }),
            new("Still off", new NumberCell(lines.Count(l => l.Conformed is null), "") { Traces = [trace] }),
        ];
        var sections = new List<Section>();
        foreach (var line in lines)
        {
            var end = line.Conformed ?? until;
            var kegs = WashedWithin(context, line.Washer, line.Since, end);
            var decisions = new Decisions(context, line.Washer, line.Since);
            var counted = kegs.Trace($"kegs whose cycle ran while {name} was off the recipe");
            sections.Add(new Section($"{line.Washer}, from {context.Local(line.Since)}",
            [
                new Table($"deviation-{sections.Count + 1}", ["figure", "value"],
                [
                    ["approved", new NumberCell(line.Finding.Approved, line.Finding.Unit) { Traces = [trace] }],
                    ["by", $"{line.Finding.Recipe} version {line.Finding.RecipeVersion}"],
                    ["set", new NumberCell(line.Finding.Set, line.Finding.Unit) { Traces = [trace] }],
                    ["since", new InstantCell(line.Since) { Traces = [trace] }],
                    ["until", line.Conformed is { } conformed ? new InstantCell(conformed) { Traces = [trace] } : "still off at the end of the period"],
                    ["kegs whose cycle ran meanwhile, in part at least", new NumberCell(kegs.Entries.Count, "") { Traces = [counted] }],
                ]),
                new Table($"kegs-{sections.Count + 1}", ["keg", "ended", "station", "verdict", "first reason", "decision", "cycle"],
                    [.. kegs.Of<KegJudged>().OrderBy(k => k.At.Latest).ThenBy(k => k.Verdict.Station).Select(k => (IReadOnlyList<Cell>)[k.Verdict.KegId, k.At.Latest, k.Verdict.Station, new VerdictCell(k.Verdict.Verdict) { Traces = [counted] }, KegTables.FirstReason(k), decisions.Cell(k), k.Verdict.CycleId])])
                {
                    Empty = "No keg was washed meanwhile.",
                },
                .. Circumstances(context, line.Washer, line.Since - TimeSpan.FromMinutes(10), end + TimeSpan.FromMinutes(10)),
            ]));
        }

        return context.Document($"Deviation: setting {name}", facts, sections, Words.Claim, Claim, "A cycle that ran while the setting changed can have been washed by either value: its own record has the setting as it stood when the cycle began.");
    }

    /// <summary>Kegs of cycles that can have run within a stretch, in part at least: they may have ended long after it.</summary>
    private static EventLog WashedWithin(ReportContext context, string washer, Instant from, Instant until)
    {
        var cycles = context.Read(washer, from, until + LongestCycle, "cycle-ended").Of<CycleEnded>().Where(e => e.Cycle.Start.Earliest.Wall <= until).Select(e => e.Cycle.Id).ToHashSet(StringComparer.Ordinal);
        var kegs = context.Read(washer, from, until + LongestCycle, "keg-judged");
        return kegs with { Entries = [.. kegs.Entries.Where(e => cycles.Contains(((KegJudged)e.Event!).Verdict.CycleId))] };
    }

    private static List<Block> Circumstances(ReportContext context, string washer, Instant from, Instant until)
    {
        var log = context.Read(washer, from, until, ["alarm-changed", "setpoint-changed", "source-lost", "source-restored", .. RecordTables.Kinds]);
        return
        [
            new SubHeading("What was told around it"),
            new Table($"around-{from.UnixMicroseconds}", ["when", "what"], [.. log.Entries.Select(e => (IReadOnlyList<Cell>)[new InstantCell(e.Event!.At.Latest) { Traces = [log.Trace("what was told around it")] }, What(e.Event)])]) { Empty = "Nothing." },
        ];
    }

    private static string What(WashEvent told) => told switch
    {
        AlarmChanged alarm => $"Alarm {alarm.Alarm}: {AnalysisWords.Of(alarm.To)}{(alarm.By is { } by ? $" by {by}" : "")}. {alarm.Text.What}",
        SetpointChanged change => $"{change.Setpoint} changed from {CellWords.Number(change.OldValue)} to {CellWords.Of(new NumberCell(change.NewValue, change.Unit), TimeZoneInfo.Utc)}",
        SourceLost lost => $"Group {lost.Group} could not be read: {lost.Reason}",
        SourceRestored restored => $"Group {restored.Group} read again; nothing was seen for at most {CellWords.Number(restored.Gap.Width.TotalSeconds)} s",
        IRecord record => $"{RecordWords.Who(record.Act)}: {RecordWords.What(told)}{(record.Act.Reason.Length > 0 ? $": {record.Act.Reason}" : "")}",
        _ => told.Id,
    };
}
