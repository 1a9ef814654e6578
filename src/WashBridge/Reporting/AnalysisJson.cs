using WashBridge.Analysis.Peers;
using WashBridge.Core.Features;

namespace WashBridge.Reporting;

/// <summary>All findings of a period as one JSON document, with every figure and every sentence of evidence.</summary>
internal static class AnalysisJson
{
    public static void Write(AnalysisReport report, TextWriter output) => ReportJson.Write(
        new
        {
            report.From,
            report.Until,
            Zone = report.Zone.Id,
            AnalysisWords.Claim,
            Words.Caution,
            Drifts = report.Drifts.Select(d => new { d.Found.Washer, FoundAt = d.FirstFound, EndedAt = d.Ended?.At.Latest, EndedBecause = d.Ended?.Reason, d.Finding }),
            Forecasts = report.Forecasts.Select(l => new { l.Made.Washer, MadeAt = l.Made.At.Latest, Component = l.Forecast.Component.Key, l.Forecast }),
            Scores = report.Scores.Select(s => new { s.Washer, At = s.At.Latest, Component = s.Score.Forecast.Component.Key, s.Score }),
            Peers = report.Peers is { } peers ? Peers(peers) : null,
            Settings = report.Deviations,
            Alarms = report.Alarms.Open.Concat(report.Alarms.Aside),
            Figures = report.Figures,
            Recomputed = report.Recomputed,
        },
        output);

    /// <summary>By family of figures: everybody's standing.</summary>
    private static object Peers(PeerReport peers) => new
    {
        peers.Judged,
        peers.TooFew,
        PeerComparison.Rare,
        PeerWords.Note,
        Families = peers.Standings.GroupBy(s => Feature.FamilyOf(s.Feature)).Select(g => new
        {
            Family = g.Key,
            FeatureCatalogue.Find(g.Key)?.Title,
            FeatureCatalogue.Find(g.Key)?.Unit,
            Worse = FeatureCatalogue.Find(g.Key)?.Worse.ToString(),
            Standings = g,
        }),
    };
}
