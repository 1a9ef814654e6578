using System.Net;
using WashBridge.Core.Cycles;
using WashBridge.Core.Upkeep;

namespace WashBridge.Reporting;

/// <summary>Findings as one self-contained page that prints well: no script, nothing loaded from elsewhere, pictures with their numbers beside them.</summary>
internal static class AnalysisHtml
{
    private const string Style = """
        svg { width: 100%; max-width: 44rem; height: auto; display: block; } svg text { fill: var(--ink); font: 12px system-ui, sans-serif; }
        svg path, svg polyline { fill: none; stroke: var(--ink); stroke-width: 1.5; } svg .axis { stroke: var(--rule); } svg .limit { stroke: var(--bad); stroke-dasharray: 8 4; }
        svg .ahead { stroke-dasharray: 2 4; } svg .span { stroke: var(--open); stroke-width: 7; opacity: .6; } svg .now { fill: var(--ink); }
        .caution { border-left: .3rem solid var(--bad); padding-left: .6rem; }
        """;

    public static void Write(AnalysisReport report, TextWriter output)
    {
        output.WriteLine($"""
            <!doctype html>
            <html lang="en">
            <head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>What drifts, and what will need maintenance</title><style>
            {HtmlReport.Style}
            {Style}
            </style></head>
            <body>
            <h1>What drifts, and what will need maintenance</h1>
            <p class="when">From {report.Local(report.From)} until {report.Local(report.Until)}. Times in {Text(report.Zone.Id)}.</p>
            <ul class="totals">
            <li><b>{report.Alarms.Open.Count()}</b> alarms open</li><li><b>{report.Drifts.Count(d => d.Ended is null)}</b> drifts</li><li><b>{report.Forecasts.Count(f => f.Forecast.State >= ForecastState.Approaching)}</b> parts near a limit</li><li><b>{report.Deviations.Count(d => d.Conformed is null)}</b> settings off the recipe</li>
            </ul>
            <p class="note">{Text(AnalysisWords.Claim)}</p>
            """);
        Alarms(report, output);
        Forecasts(report, output);
        Drifts(report, output);
        Peers(report, output);
        Deviations(report, output);
        Figures(report, output);
        if (report.Recomputed is { } recomputed)
        {
            output.WriteLine($"<p class=\"note\">{Text(recomputed.Text)}</p>");
        }

        output.WriteLine($"<p class=\"note\"><strong>Caution.</strong> {Text(Words.Caution)}</p>\n</body>\n</html>");
    }

    private static void Alarms(AnalysisReport report, TextWriter output)
    {
        output.WriteLine("<h2>Alarms</h2>");
        var shown = report.Alarms.Open.Concat(report.Alarms.Aside).ToList();
        if (shown.Count == 0)
        {
            output.WriteLine("<p>No alarm stands.</p>");
        }

        foreach (var alarm in shown)
        {
            output.WriteLine($"""
                <article><header><h3>{Text(alarm.Text.What)}</h3><span class="verdict">{AnalysisWords.Of(alarm.Priority)} priority, {AnalysisWords.Of(alarm.To)}</span><span class="when">{Text(Since(report, alarm))}</span></header>
                <p>Kegs: {Text(alarm.Text.Kegs)}</p><p>Look at first: {Text(alarm.Text.LookAt)}</p>{(alarm.Text.Caution.Length > 0 ? $"<p class=\"caution\"><strong>Caution.</strong> {Text(alarm.Text.Caution)}</p>" : "")}
                <p class="when">{Text($"{alarm.Washer}, alarm {alarm.Alarm}")}</p></article>
                """);
        }
    }

    private static void Forecasts(AnalysisReport report, TextWriter output)
    {
        output.WriteLine("<h2>Forecasts</h2>");
        if (report.Forecasts.Count == 0)
        {
            output.WriteLine("<p>None yet: there is not enough evidence.</p>");
        }

        foreach (var line in report.Forecasts)
        {
            var forecast = line.Forecast;
            output.WriteLine($"""
                <article><header><h3>{Text($"{line.Made.Washer}: {forecast.Component.Key}")}</h3><span class="verdict">{AnalysisWords.Of(forecast.State)}</span><span class="when">as of {report.Local(line.Made.At.Latest)}, {forecast.Cycles} cycles since its reference began</span></header>
                {IndexPicture.Draw(line)}
                <div class="scroll"><table><tbody>
                {Row("left", AnalysisWords.Left(forecast))}{Row("due", AnalysisWords.Due(report, forecast))}{Row("index", AnalysisWords.Index(forecast))}{Row("change in 1,000 cycles", Slope(forecast))}
                </tbody></table></div>
                {Causes(forecast)}{List("Evidence", forecast.Evidence)}
                </article>
                """);
        }

        if (report.Scores.Count > 0)
        {
            output.WriteLine($"<h3>How forecasts stood against what happened</h3><ul class=\"why\">{string.Concat(report.Scores.Select(s => $"<li>{Text($"{s.Washer} {s.Score.Forecast.Component.Key}, {report.Local(s.At.Latest)}: {s.Score.Outcome}")}</li>"))}</ul>");
        }
    }

    private static void Drifts(AnalysisReport report, TextWriter output)
    {
        output.WriteLine("<h2>Drifts</h2>");
        if (report.Drifts.Count == 0)
        {
            output.WriteLine("<p>Nothing drifts, as far as it could be measured.</p>");
            return;
        }

        output.WriteLine("<div class=\"scroll\"><table><thead><tr><th>washer</th><th>what</th><th>since (90 %)</th><th>by how much</th><th>kegs</th><th>state</th></tr></thead><tbody>");
        foreach (var (drift, finding) in report.Drifts.Select(d => (d, d.Finding)))
        {
            var since = $"{report.Local(finding.Onset.At)} ({report.Day(finding.Onset.Earliest)} to {report.Day(finding.Onset.Latest)})";
            output.WriteLine($"<tr><td>{Text(drift.Found.Washer)}</td><td>{Text(AnalysisWords.Title(finding))}</td><td>{since}</td><td>{Text(AnalysisWords.Size(finding))}</td><td>{Text(AnalysisWords.Kegs(finding))}</td><td>{Text(drift.Ended is null ? "drifts" : "ended: " + drift.Ended.Reason)}</td></tr>");
        }

        output.WriteLine("</tbody></table></div>");
    }

    private static void Peers(AnalysisReport report, TextWriter output)
    {
        if (report.Peers is not { } peers)
        {
            return;
        }

        output.WriteLine("<h2>Beside their peers</h2>");
        var rows = peers.StandOut.Concat(peers.Differing).Select(l =>
            $"<tr><td>{Text(PeerWords.Who(l.Clearest))}</td><td>{Text(PeerWords.Title(l))}</td><td>{Text(PeerWords.Difference(l.Clearest))}</td><td>{Text(PeerWords.Stands(l.Clearest))}</td><td>{l.Clearest.Cycles}</td><td>{Text(PeerWords.State(l.Clearest))}</td></tr>").ToList();
        if (rows.Count > 0)
        {
            output.WriteLine($"<div class=\"scroll\"><table><thead><tr><th>who</th><th>what</th><th>difference</th><th>now</th><th>cycles</th><th>state</th></tr></thead><tbody>\n{string.Join('\n', rows)}\n</tbody></table></div>");
        }

        output.WriteLine(string.Concat(PeerWords.Summary(peers).Select(s => $"<p>{Text(s)}</p>")));
    }

    private static void Deviations(AnalysisReport report, TextWriter output)
    {
        output.WriteLine("<h2>Settings that left the recipe</h2>");
        if (report.Deviations.Count == 0)
        {
            output.WriteLine("<p>All settings seen are as the recipe approves.</p>");
            return;
        }

        output.WriteLine("<div class=\"scroll\"><table><thead><tr><th>washer</th><th>setting</th><th>approved</th><th>set</th><th>since</th><th>until</th></tr></thead><tbody>");
        foreach (var (line, finding) in report.Deviations.Select(d => (d, d.Finding)))
        {
            output.WriteLine($"<tr><td>{Text(line.Washer)}</td><td>{Text(finding.Setpoint)}</td><td>{Text($"{AnalysisWords.Number(finding.Approved)}{AnalysisWords.Unit(finding.Unit)} ({finding.Recipe} {finding.RecipeVersion})")}</td><td>{Text(AnalysisWords.Number(finding.Set) + AnalysisWords.Unit(finding.Unit))}</td><td>{report.Local(line.Since)}</td><td>{(line.Conformed is { } end ? report.Local(end) : "still")}</td></tr>");
        }

        output.WriteLine("</tbody></table></div>");
    }

    private static void Figures(AnalysisReport report, TextWriter output)
    {
        output.WriteLine("<h2>How the alarms serve</h2><div class=\"scroll\"><table><thead><tr><th>figure</th><th>value</th><th>recommended</th></tr></thead><tbody>");
        output.WriteLine(string.Concat(report.Figures.Compared.Select(f => $"<tr><td>{Text(f.Title)}</td><td>{Text(AnalysisWords.Value(f))}</td><td>{Text(AnalysisWords.Recommended(f))}</td></tr>")));
        output.WriteLine($"</tbody></table></div>{List("The most frequent", [.. report.Figures.MostFrequent.Select(m => $"{m.Name.Washer} {m.Name.Alarm}: {m.Count} times")])}<p class=\"when\">{Text(AnalysisWords.FiguresNote)}</p>");
    }

    private static string Causes(Forecast forecast) => !AnalysisWords.Suspects(forecast).Any() ? "" : $"<h3>Likely causes, ranked</h3><ol>{string.Concat(AnalysisWords.Suspects(forecast).Select(c => $"<li>{Text(AnalysisWords.Of(c))}{List("speaks for it", c.For)}{List("speaks against it", c.Against)}</li>"))}</ol>";

    private static string List(string title, IReadOnlyList<string> items) => items.Count == 0 ? "" : $"<p>{Text(title)}:</p><ul class=\"why\">{string.Concat(items.Select(i => $"<li>{Text(i)}</li>"))}</ul>";

    private static string Row(string title, string value) => value.Length == 0 ? "" : $"<tr><th>{Text(title)}</th><td>{Text(value)}</td></tr>";

    private static string Slope(Forecast forecast) => forecast is { Slope: { } slope, SlopeUncertainty: { } uncertainty } ? $"{AnalysisWords.Number(slope)}{AnalysisWords.Unit(forecast.Unit)} (u = {AnalysisWords.Number(uncertainty)})" : "";

    private static string Since(AnalysisReport report, AlarmChanged alarm) => string.Join(", ", new[]
    {
        alarm.Since is { } since ? $"since {report.Local(since)}" : "",
        alarm.Until is { } until ? $"shelved until {report.Local(until)}" : "",
        alarm.By is { } by ? $"by {by}{(alarm.Reason is { } reason ? $": {reason}" : "")}" : "",
    }.Where(t => t.Length > 0));

    private static string Text(string text) => WebUtility.HtmlEncode(text);
}
