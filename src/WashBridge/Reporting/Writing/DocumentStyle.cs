using System.Security.Cryptography;
using System.Text;

namespace WashBridge.Reporting.Writing;

/// <summary>How a report looks in a browser and on paper.</summary>
internal static class DocumentStyle
{
    public const string Css = """
        :root { color-scheme: light dark; --ink: #1c2226; --paper: #fff; --rule: #b3bcc1; --soft: #f1f4f5; --bad: #8f1d14; --open: #7a4b00; --good: #14532d; --bar: #2f5d7c; --inverse: #fff; }
        @media screen and (prefers-color-scheme: dark) { :root { --ink: #e8edef; --paper: #14181b; --rule: #56616a; --soft: #1f262a; --bad: #ff9d92; --open: #ffcf87; --good: #9fe0b3; --bar: #8fc1e3; --inverse: #14181b; } }
        * { box-sizing: border-box; }
        body { font: 1rem/1.5 system-ui, sans-serif; color: var(--ink); background: var(--paper); max-width: 72rem; margin: 0 auto; padding: 1rem; }
        h1 { font-size: 1.6rem; line-height: 1.25; margin: 0 0 .5rem; overflow-wrap: anywhere; } h2 { font-size: 1.25rem; margin: 2rem 0 .5rem; border-bottom: 2px solid var(--ink); } h3 { font-size: 1.05rem; margin: 1.25rem 0 .25rem; }
        p { margin: .5rem 0; overflow-wrap: anywhere; } bdi { overflow-wrap: anywhere; }
        dl { display: grid; grid-template-columns: minmax(7rem, max-content) 1fr; gap: .2rem 1rem; margin: .5rem 0; } dt { font-weight: 600; } dd { margin: 0; overflow-wrap: anywhere; }
        dl.basis { font-size: .9rem; border-top: 1px solid var(--rule); padding-top: .5rem; }
        table { border-collapse: collapse; width: 100%; font-size: .9rem; margin: .5rem 0; } th, td { text-align: left; vertical-align: top; padding: .3rem .75rem .3rem 0; border-bottom: 1px solid var(--rule); } td { overflow-wrap: anywhere; } td.figure, td.number { overflow-wrap: normal; }
        td.number { text-align: right; font-variant-numeric: tabular-nums; }
        .verdict { font-weight: 700; white-space: nowrap; } .met { color: var(--good); } .not-met { color: var(--bad); text-decoration: underline; } .not-proven { color: var(--open); font-style: italic; }
        .sources { font-size: .75rem; white-space: normal; } .note { font-size: .9rem; }
        .caution { border-left: .35rem solid var(--bad); padding: .25rem .75rem; background: var(--soft); }
        figure { margin: .75rem 0; max-width: 42rem; } svg { width: 100%; height: auto; display: block; }
        svg text { fill: var(--ink); font: 10px system-ui, sans-serif; } svg text.inverse { fill: var(--inverse); font-weight: 700; font-size: 9px; }
        svg .ink { fill: none; stroke: var(--ink); stroke-width: 1.2; } svg .rule { fill: none; stroke: var(--rule); stroke-width: .7; } svg .limit { fill: none; stroke: var(--bad); stroke-dasharray: 7 3; }
        svg .ahead { fill: none; stroke: var(--ink); stroke-dasharray: 1.5 3; } svg .span { fill: none; stroke: var(--open); stroke-width: 5; opacity: .6; } svg .dot { fill: var(--ink); }
        svg .certain { fill: var(--bar); } svg .possible { fill: var(--paper); stroke: var(--bar); stroke-width: .7; } svg .unseen { fill: none; stroke: var(--bad); stroke-width: .9; }
        @media screen and (max-width: 48rem) {
          table, tbody, tr, td { display: block; } thead { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
          tr { border: 1px solid var(--rule); border-radius: .4rem; padding: .4rem .6rem; margin: .5rem 0; } td { border: 0; padding: .1rem 0; } td:empty { display: none; } td.number { text-align: left; }
          td::before { content: attr(data-label) ": "; font-weight: 600; } dl { grid-template-columns: 1fr; gap: 0; } dd { margin: 0 0 .4rem; }
        }
        @media print {
          @page { size: A4; margin: 15mm 15mm 18mm; @bottom-right { content: "Page " counter(page) " of " counter(pages); font: 8pt sans-serif; } }
          body { font-size: 9.5pt; max-width: none; padding: 0; } table { font-size: 8pt; } thead { display: table-header-group; } tr, figure, .caution { break-inside: avoid; } h2, h3 { break-after: avoid; }
        }
        """;

    /// <summary>For a content security policy that allows this style and no other: <c>style-src 'sha256-...'</c>.</summary>
    public static readonly string CspSource = $"'sha256-{Convert.ToBase64String(SHA256.HashData(Encoding.UTF8.GetBytes(InPage)))}'";

    /// <summary>What stands between the tags.</summary>
    public static string InPage => "\n" + Css + "\n";
}
