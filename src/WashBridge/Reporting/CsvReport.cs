using System.Globalization;
using CsvHelper;

namespace WashBridge.Reporting;

/// <summary>One row for each requirement of each keg (RFC 4180, UTF-8): what a spreadsheet can filter and count.</summary>
internal static class CsvReport
{
    private static readonly string[] Headings =
    [
        "ended", "washer", "station", "keg", "keg_id_from", "cycle", "recipe", "version", "rule", "keg_verdict",
        "requirement", "verdict", "lower", "upper", "limit", "unit", "evidence",
    ];

    public static void Write(Report report, TextWriter output)
    {
        using var csv = CsvWriter.Create(output, new CsvWriterOptions(), leaveOpen: true);
        csv.WriteRecord(Headings);
        foreach (var (ended, keg) in report.Kegs.Select(k => (k.Ended, k.Verdict)))
        {
            foreach (var result in keg.Results)
            {
                csv.WriteRecord(
                [
                    ended.ToString(), keg.Washer, Number(keg.Station), keg.KegId, keg.KegIdSource.ToString().ToLowerInvariant(), keg.CycleId,
                    keg.Recipe, Number(keg.RecipeVersion), keg.Rule.Method.ToString(), Words.Of(keg.Verdict),
                    result.Requirement, Words.Of(result.Verdict), Number(result.Lower), Number(result.Upper), Number(result.Limit), result.Unit, result.Evidence,
                ]);
            }
        }
    }

    private static string Number(double? number) => number?.ToString("R", CultureInfo.InvariantCulture) ?? "";
}
