namespace WashBridge.Reporting;

/// <summary>The whole report as one JSON document: cycles with every edge's bounds, kegs with every requirement's evidence.</summary>
internal static class JsonReport
{
    public static void Write(Report report, TextWriter output) => ReportJson.Write(
        new
        {
            report.From,
            report.Until,
            Zone = report.Zone.Id,
            Claim = Words.Claim,
            Caution = Words.Caution,
            report.Cycles,
            Kegs = report.Kegs.Select(k => k.Verdict),
        },
        output);
}
