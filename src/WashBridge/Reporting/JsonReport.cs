using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;

namespace WashBridge.Reporting;

/// <summary>The whole report as one JSON document: cycles with every edge's bounds, kegs with every requirement's evidence.</summary>
internal static class JsonReport
{
    private static readonly JsonSerializerOptions Options = new(JsonSerializerDefaults.Web)
    {
        WriteIndented = true,
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    };

    public static void Write(Report report, TextWriter output) => output.WriteLine(JsonSerializer.Serialize(
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
        Options));
}
