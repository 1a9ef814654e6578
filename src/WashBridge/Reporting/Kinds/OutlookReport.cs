using WashBridge.Core.Cycles;
using WashBridge.Core.Upkeep;
using WashBridge.Reporting.Documents;
using WashBridge.Reporting.Pictures;

namespace WashBridge.Reporting.Kinds;

/// <summary>What will need maintenance, when, why that is believed, and what to look at first.</summary>
internal static class OutlookReport
{
    public static Document Make(ReportContext context)
    {
        var (from, until) = context.Period();
        var log = context.ReadUntil(context.Wish.Washer, until, [.. Analysing.AnalysisInputs.Findings]);
        var report = AnalysisReport.Of([.. log.Of<WashEvent>()], from, until, context.Zone);
        var near = report.Forecasts.Where(f => f.Forecast.State >= ForecastState.Approaching).ToList();
        List<Fact> facts =
        [
            new("As seen on", new InstantCell(until)),
            new("Washer", context.Wish.Washer ?? "all"),
            new("Open alarms", new NumberCell(report.Alarms.Open.Count(), "") { Traces = [log.OnlyOf("alarm-changed").Trace("changes of alarms so far")] }),
            new("Parts near a limit", new NumberCell(near.Count, "") { Traces = report.Forecasts.Count > 0 ? [log.OnlyOf("forecast-made").Trace("forecasts")] : [] }),
            new("First by forecast", near.FirstOrDefault() is { } first ? $"{first.Made.Washer}, {first.Forecast.Component.Key}: {AnalysisWords.Of(first.Forecast.State)}{Left(first.Forecast)}" : "no part is near its limit"),
        ];
        var sections = new List<Section>
        {
            new("What comes first", [Summary(report, log), new Paragraph("Between lower and upper, and earliest and latest, it is meant to lie in 8 of 10 cases.", ParagraphKind.Note)]),
            new("Open alarms", Alarms(report)),
        };
        sections.AddRange(report.Forecasts.Where(f => IsOfInterest(report, f)).Select(f => new Section($"{f.Made.Washer}: {f.Forecast.Component.Key}", Forecast(report, f, log))));
        if (report.Forecasts.Where(f => f.Forecast.State != ForecastState.NotEnoughEvidence && !IsOfInterest(report, f)).ToList() is { Count: > 0 } quiet)
        {
            sections.Add(new Section("Parts without a trend towards their limit", [Quiet(quiet, log)]));
        }

        if (report.Forecasts.Where(f => f.Forecast.State == ForecastState.NotEnoughEvidence).ToList() is { Count: > 0 } silent)
        {
            sections.Add(new Section("Parts of which nothing can be said yet", [new Bullets("", [.. silent.Select(f => $"{f.Made.Washer}, {f.Forecast.Component.Key}: {string.Join(" ", f.Forecast.Evidence)}")])]));
        }

        if (report.Scores.Count > 0)
        {
            var scored = log.OnlyOf("forecast-scored");
            sections.Add(new Section("How forecasts stood against what happened", [new Table("scores", ["washer", "part", "maintenance", "cycles run since the forecast", "outcome"],
                [.. report.Scores.Select(s => (IReadOnlyList<Cell>)[s.Washer, s.Score.Forecast.Component.Key, s.At.Latest, new NumberCell(s.Score.CyclesRun, "") { Traces = [scored.Trace("scores")] }, s.Score.Outcome])])]));
        }

        return context.Document("Maintenance outlook", facts, sections, AnalysisWords.Claim, "It does not replace the maker's maintenance plan, and it knows nothing of parts that no signal shows.");
    }

    /// <summary>Near its limit, or with an alarm of its own that is open.</summary>
    private static bool IsOfInterest(AnalysisReport report, ForecastLine line) =>
        line.Forecast.State >= ForecastState.Approaching || (line.Forecast.State == ForecastState.NoTrend && report.Alarms.Open.Any(a => a.Washer == line.Made.Washer && a.Alarm == line.Forecast.Component.Key));

    private static Table Quiet(IReadOnlyList<ForecastLine> lines, EventLog log) => new("no-trend", ["part", "washer", "index", "now", "limit", "limit from", "cycles since its reference began", "made"],
    [
        .. lines.Select(l =>
        {
            IReadOnlyList<int> traces = [Trace(log, l)];
            Cell Value(double? value) => value is { } number ? new NumberCell(number, l.Forecast.Unit) { Traces = traces } : "not known";
            return (IReadOnlyList<Cell>)[l.Forecast.Component.Key, l.Made.Washer, l.Forecast.Index, Value(l.Forecast.Now), Value(l.Forecast.Limit), l.Forecast.LimitSource, new NumberCell(l.Forecast.Cycles, "cycles") { Traces = traces }, l.Made.At.Latest];
        }),
    ]);

    private static Table Summary(AnalysisReport report, EventLog log) => new(
        "forecasts",
        ["part", "washer", "state", "cycles left", "cycles left, lower", "cycles left, upper", "due", "due, earliest", "due, latest", "look at first"],
        [
            .. report.Forecasts.Where(f => f.Forecast.State >= ForecastState.Approaching).Select(f =>
            {
                IReadOnlyList<int> traces = [Trace(log, f)];
                Cell Number(double? value) => value is { } number ? new NumberCell(Math.Round(number), "cycles") { Traces = traces } : "";
                Cell Instant(Core.Time.Instant? at) => at is { } instant ? new InstantCell(instant) { Traces = traces } : "";
                return (IReadOnlyList<Cell>)
                [
                    f.Forecast.Component.Key, f.Made.Washer, AnalysisWords.Of(f.Forecast.State), Number(f.Forecast.CyclesLeft), Number(f.Forecast.CyclesLeftLower), Number(f.Forecast.CyclesLeftUpper),
                    Instant(f.Forecast.Due), Instant(f.Forecast.DueEarliest), Instant(f.Forecast.DueLatest), AnalysisWords.Suspects(f.Forecast).FirstOrDefault() is { } cause ? AnalysisWords.Of(cause) : "",
                ];
            }),
        ])
    {
        Empty = report.Forecasts.Count == 0 ? "No forecast yet: there is not enough evidence." : "No part is near its limit, as far as it could be measured.",
    };

    private static List<Block> Alarms(AnalysisReport report)
    {
        var blocks = new List<Block>();
        foreach (var alarm in report.Alarms.Open)
        {
            blocks.Add(new SubHeading($"{alarm.Text.What} ({AnalysisWords.Of(alarm.Priority)} priority, {AnalysisWords.Of(alarm.To)})"));
            blocks.Add(new Bullets("", [$"Since {(alarm.Since is { } since ? report.Local(since) : "it is over")}, alarm {alarm.Alarm} of {alarm.Washer}", $"Kegs: {alarm.Text.Kegs}", $"Look at first: {alarm.Text.LookAt}"]));
            if (alarm.Text.Caution.Length > 0)
            {
                blocks.Add(new Paragraph(alarm.Text.Caution, ParagraphKind.Caution));
            }
        }

        return blocks.Count > 0 ? blocks : [new Paragraph("No alarm stands.")];
    }

    private static List<Block> Forecast(AnalysisReport report, ForecastLine line, EventLog log)
    {
        var forecast = line.Forecast;
        IReadOnlyList<int> traces = [Trace(log, line)];
        Cell Value(double? value, string unit) => value is { } number ? new NumberCell(number, unit) { Traces = traces } : "not known";
        var blocks = new List<Block>();
        if (line.History.Count > 0 && (line.History.Count > 1 || forecast.Limit is not null))
        {
            var now = line.History[^1].Cycles;
            blocks.Add(new CoursePicture
            {
                Title = $"{forecast.Index} of {forecast.Component.Key} against cycles since its reference began: now {AnalysisWords.Number(line.History[^1].Value)}{AnalysisWords.Unit(forecast.Unit)}. {AnalysisWords.Left(forecast)}",
                Upwards = forecast.Index + (forecast.Unit.Length > 0 ? ", " + forecast.Unit : ""),
                Along = "cycles since the reference began",
                Courses = [line.History],
                Limit = forecast.Limit,
                Reached = forecast.CyclesLeft is { } left ? now + left : null,
                ReachedWithin = forecast is { CyclesLeftLower: { } lower, CyclesLeftUpper: { } upper } ? (now + lower, now + upper) : null,
            }.Draw());
        }

        blocks.Add(new Table($"forecast-{line.Made.Washer}-{forecast.Component.Key}", ["figure", "value"],
        [
            ["state", AnalysisWords.Of(forecast.State)],
            [$"index {forecast.Index} now", Value(forecast.Now, forecast.Unit)],
            [$"limit{(forecast.LimitSource.Length > 0 ? $" ({forecast.LimitSource})" : "")}", Value(forecast.Limit, forecast.Unit)],
            ["change in 1,000 cycles", Value(forecast.Slope, forecast.Unit)],
            ["its standard uncertainty", Value(forecast.SlopeUncertainty, forecast.Unit)],
            ["cycles since its reference began", Value(forecast.Cycles, "")],
            ["cycles left", AnalysisWords.Left(forecast) is { Length: > 0 } words ? words : "not known"],
            ["due", AnalysisWords.Due(report, forecast) is { Length: > 0 } due ? due : "not known"],
            ["made", line.Made.At.Latest],
        ]));
        foreach (var cause in AnalysisWords.Suspects(forecast))
        {
            blocks.Add(new SubHeading($"Likely: {AnalysisWords.Of(cause)}"));
            blocks.Add(new Bullets("Speaks for it", cause.For));
            blocks.Add(new Bullets("Speaks against it", cause.Against));
        }

        blocks.Add(new Bullets("Evidence", forecast.Evidence));
        return blocks;
    }

    private static string Left(Forecast forecast) => AnalysisWords.Left(forecast) is { Length: > 0 } left ? $", {left} left" : "";

    private static int Trace(EventLog log, ForecastLine line) =>
        (log with { Kinds = ["forecast-made"], Washer = line.Made.Washer, Entries = [.. log.Entries.Where(e => e.Event!.Id == line.Made.Id)] }).Trace($"forecast of {line.Forecast.Component.Key}");
}
