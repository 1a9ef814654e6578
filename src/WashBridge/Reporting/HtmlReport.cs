using System.Net;
using WashBridge.Core.Cycles;
using WashBridge.Core.Verdicts;

namespace WashBridge.Reporting;

/// <summary>One self-contained page that prints well: no script, nothing loaded from elsewhere. Verdicts are words first, tint second.</summary>
internal static class HtmlReport
{
    internal const string Style = """
        :root { color-scheme: light dark; --ink: #1c2226; --paper: #fff; --rule: #c3cace; --soft: #f1f4f5; --bad: #8f1d14; --open: #7a4b00; }
        @media (prefers-color-scheme: dark) { :root { --ink: #e8edef; --paper: #14181b; --rule: #475057; --soft: #1f262a; --bad: #ff9d92; --open: #ffcf87; } }
        body { font: 16px/1.5 system-ui, sans-serif; color: var(--ink); background: var(--paper); max-width: 72rem; margin: 0 auto; padding: 1rem; }
        h1 { font-size: 1.6rem; margin: 0 0 .25rem; } h2 { font-size: 1.2rem; margin: 2rem 0 .5rem; }
        .totals { display: flex; flex-wrap: wrap; gap: 1rem; margin: 1rem 0; padding: 0; list-style: none; }
        .totals li { background: var(--soft); padding: .5rem 1rem; border-radius: .4rem; min-width: 7rem; } .totals b { display: block; font-size: 1.8rem; line-height: 1.1; }
        article { border-top: 1px solid var(--rule); padding: .75rem 0; break-inside: avoid; }
        article header { display: flex; flex-wrap: wrap; gap: .25rem 1rem; align-items: baseline; }
        article h3 { margin: 0; font-size: 1.05rem; overflow-wrap: anywhere; } .when { color: inherit; opacity: .8; font-size: .9rem; }
        .verdict { font-weight: 700; } .not-met { color: var(--bad); } .not-proven { color: var(--open); }
        table { border-collapse: collapse; width: 100%; font-size: .9rem; } th, td { text-align: left; vertical-align: top; padding: .3rem .6rem .3rem 0; border-bottom: 1px solid var(--rule); }
        .scroll { overflow-x: auto; } details summary { cursor: pointer; padding: .4rem 0; } ul.why { margin: .25rem 0 .25rem 1.2rem; padding: 0; }
        .note { background: var(--soft); padding: .75rem 1rem; border-radius: .4rem; margin: 1rem 0; }
        @media print { details::details-content { content-visibility: visible; block-size: auto; } body { font-size: 10pt; max-width: none; padding: 0; } @page { margin: 15mm; } }
        """;

    public static void Write(Report report, TextWriter output)
    {
        output.WriteLine($"""
            <!doctype html>
            <html lang="en">
            <head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>Keg washing report</title><style>
            {Style}
            </style></head>
            <body>
            <h1>Keg washing report</h1>
            <p class="when">{Text(Period(report))}. Times in {Text(report.Zone.Id)}.</p>
            <ul class="totals">
            <li><b>{report.Kegs.Count}</b> kegs</li><li><b>{report.Count(Verdict.Met)}</b> met</li><li><b>{report.Count(Verdict.NotMet)}</b> not met</li><li><b>{report.Count(Verdict.NotProven)}</b> not proven</li><li><b>{report.Cycles.Count}</b> cycles</li>
            </ul>
            <p class="note">{Text(Words.Claim)}</p>
            """);
        WriteAttention(report, output);
        WriteCycles(report, output);
        output.WriteLine($"<p class=\"note\"><strong>Caution.</strong> {Text(Words.Caution)}</p>\n</body>\n</html>");
    }

    private static void WriteAttention(Report report, TextWriter output)
    {
        output.WriteLine("<h2>Kegs that need a person's decision</h2>");
        var open = report.Kegs.Where(k => k.Verdict.Verdict != Verdict.Met).ToList();
        if (open.Count == 0)
        {
            output.WriteLine("<p>None: every keg met its recipe.</p>");
        }

        foreach (var keg in open)
        {
            output.WriteLine($"<article>{Header(report, keg)}<ul class=\"why\">{string.Concat(keg.Reasons.Select(r => $"<li>{Text(r.Requirement)}: {Text(r.Evidence)}</li>"))}</ul></article>");
        }
    }

    private static void WriteCycles(Report report, TextWriter output)
    {
        output.WriteLine("<h2>All cycles</h2>");
        foreach (var cycle in report.Cycles)
        {
            output.WriteLine($"""
                <article><header><h3>{Text(cycle.Washer)}, {Text(Words.Of(cycle.Outcome))}</h3><span class="when">ended {report.Local(cycle.End.Latest.Wall)}, took {Words.Of(cycle.Start.Until(cycle.End))}</span></header>
                <details><summary>Steps and drains</summary><div class="scroll"><table><thead><tr><th>phase</th><th>pass</th><th>step</th><th>held</th></tr></thead><tbody>
                """);
            foreach (var (phase, pass, step) in from phase in cycle.Phases from pass in phase.Passes from step in pass.Steps select (phase, pass, step))
            {
                output.WriteLine($"<tr><td>{Text(phase.Id)}</td><td>{pass.Number}</td><td>{Words.Of(step.Kind)}</td><td>{Held(step)}</td></tr>");
            }

            output.WriteLine("</tbody></table></div><div class=\"scroll\"><table><thead><tr><th>station</th><th>phase</th><th>pass</th><th>drain time</th></tr></thead><tbody>");
            foreach (var (station, drain) in from station in cycle.Stations from drain in station.Drains select (station, drain))
            {
                output.WriteLine($"<tr><td>{(drain.Shared ? "all (shared sensor)" : station.Station)}</td><td>{Text(drain.Phase)}</td><td>{drain.Pass}</td><td>{Words.Of(drain.Time)}{(drain.Dry is null ? ", never seen dry" : "")}</td></tr>");
            }

            output.WriteLine("</tbody></table></div></details>");
            foreach (var keg in report.KegsOf(cycle))
            {
                output.WriteLine($"<details><summary>{Summary(keg)}</summary><div class=\"scroll\"><table><thead><tr><th>requirement</th><th>verdict</th><th>evidence</th></tr></thead><tbody>");
                output.WriteLine(string.Join('\n', keg.Verdict.Results.Select(r => $"<tr><td>{Text(r.Requirement)}</td><td>{Marked(r.Verdict)}</td><td>{Text(r.Evidence)}</td></tr>")));
                output.WriteLine($"</tbody></table></div><p class=\"when\">Recipe {Text(keg.Verdict.Recipe)} version {keg.Verdict.RecipeVersion}, {Text(Rule(keg))}, cycle {Text(keg.Verdict.CycleId)}.</p></details>");
            }

            output.WriteLine("</article>");
        }
    }

    private static string Header(Report report, KegLine keg) =>
        $"<header><h3>{Text(keg.Verdict.KegId)}</h3>{Marked(keg.Verdict.Verdict)}<span class=\"when\">{Text(keg.Verdict.Washer)}, station {keg.Verdict.Station}, {report.Local(keg.Ended)}</span></header>";

    private static string Summary(KegLine keg) => $"Keg {Text(keg.Verdict.KegId)}, station {keg.Verdict.Station}: {Marked(keg.Verdict.Verdict)}";

    private static string Marked(Verdict verdict) => $"<span class=\"verdict {Words.Of(verdict).Replace(' ', '-')}\">{Words.Of(verdict)}</span>";

    private static string Held(StepRecord step) => step.Seen ? Words.Of(step.Held) : "not seen";

    private static string Rule(KegLine keg) => keg.Verdict.Rule.Method == Core.Recipes.DecisionMethod.Bounds
        ? "decided by bounds"
        : FormattableString.Invariant($"decided by guard band at {keg.Verdict.Rule.Risk:P1} risk");

    private static string Period(Report report) => (report.From, report.Until) switch
    {
        (null, null) => "All that is kept",
        ({ } from, null) => $"From {report.Local(from)}",
        (null, { } until) => $"Until {report.Local(until)}",
        ({ } from, { } until) => $"From {report.Local(from)} until {report.Local(until)}",
    };

    private static string Text(string text) => WebUtility.HtmlEncode(text);
}
