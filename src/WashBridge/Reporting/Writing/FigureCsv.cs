using System.Globalization;
using CsvHelper;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Writing;

/// <summary>
/// A row for each figure (RFC 4180, UTF-8), numbers unrounded. Text that a spreadsheet would take for a formula begins with an apostrophe, which spreadsheets do not show.
/// </summary>
internal static class FigureCsv
{
    private static readonly string[] Headings = ["report", "part", "row", "name", "figure", "kind", "text", "value", "lower", "upper", "unit", "earliest_utc", "latest_utc", "sources"];

    public static void Write(Document document, TextWriter output)
    {
        using var csv = CsvWriter.Create(output, new CsvWriterOptions(), leaveOpen: true);
        csv.WriteRecord(Headings);
        foreach (var row in FigureRows.Of(document))
        {
            csv.WriteRecord(
            [
                Harmless(row.Report), Harmless(row.Part), row.Row.ToString(CultureInfo.InvariantCulture), Harmless(row.Name), Harmless(row.Figure), row.Kind, Harmless(row.Text),
                Number(row.Value), Number(row.Lower), Number(row.Upper), Harmless(row.Unit ?? ""), row.Earliest?.ToString() ?? "", row.Latest?.ToString() ?? "", row.Sources,
            ]);
        }
    }

    /// <summary>Spreadsheets take these first characters, and some the wide forms of them, for the beginning of a formula, also behind spaces.</summary>
    public static string Harmless(string text) =>
        text.TrimStart(' ', '\u00a0') is { Length: > 0 } begun && begun[0] is '=' or '+' or '-' or '@' or '\t' or '\r' or '\n' or '\uff1d' or '\uff0b' or '\uff0d' or '\uff20' ? "'" + text : text;

    private static string Number(double? number) => number?.ToString("R", CultureInfo.InvariantCulture) ?? "";
}
