using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;

namespace WashBridge.Reporting;

/// <summary>How reports are written as JSON: for people and programs alike, without what is not known.</summary>
internal static class ReportJson
{
    private static readonly JsonSerializerOptions Options = new(JsonSerializerDefaults.Web)
    {
        WriteIndented = true,
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    };

    public static void Write(object report, TextWriter output) => output.WriteLine(JsonSerializer.Serialize(report, Options));
}
