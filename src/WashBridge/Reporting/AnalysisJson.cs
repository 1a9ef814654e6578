using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;

namespace WashBridge.Reporting;

/// <summary>All findings of a period as one JSON document, with every figure and every sentence of evidence.</summary>
internal static class AnalysisJson
{
    private static readonly JsonSerializerOptions Options = new(JsonSerializerDefaults.Web)
    {
        WriteIndented = true,
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    };

    public static void Write(AnalysisReport report, TextWriter output) => output.WriteLine(JsonSerializer.Serialize(
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
            Settings = report.Deviations,
            Alarms = report.Alarms.Open.Concat(report.Alarms.Aside),
            Figures = report.Figures,
            Recomputed = report.Recomputed,
        },
        Options));
}
