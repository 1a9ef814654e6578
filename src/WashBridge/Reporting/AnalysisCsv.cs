using System.Globalization;
using CsvHelper;
using WashBridge.Analysis.Peers;
using WashBridge.Core.Features;

namespace WashBridge.Reporting;

/// <summary>One row for each finding (RFC 4180, UTF-8): what a spreadsheet can filter and count. Cells that a kind of finding does not have are empty.</summary>
internal static class AnalysisCsv
{
    private static readonly string[] Headings = ["kind", "washer", "subject", "state", "since", "until", "value", "lower", "upper", "limit", "unit", "kegs", "text"];

    public static void Write(AnalysisReport report, TextWriter output)
    {
        using var csv = CsvWriter.Create(output, new CsvWriterOptions(), leaveOpen: true);
        csv.WriteRecord(Headings);
        foreach (var drift in report.Drifts)
        {
            var finding = drift.Finding;
            csv.WriteRecord(
            [
                "drift", drift.Found.Washer, finding.Feature, drift.Ended is null ? "drifts" : "ended", finding.Onset.At.ToString(), drift.Ended?.At.Latest.ToString() ?? "",
                Number(finding.Size), Number(finding.Size - (2 * finding.SizeUncertainty)), Number(finding.Size + (2 * finding.SizeUncertainty)), "", finding.Unit, Number(finding.KegCount), AnalysisWords.Title(finding),
            ]);
        }

        foreach (var (made, forecast) in report.Forecasts.Select(l => (l.Made, l.Forecast)))
        {
            csv.WriteRecord(
            [
                "forecast", made.Washer, forecast.Component.Key, AnalysisWords.Of(forecast.State), made.At.Latest.ToString(), forecast.Due?.ToString() ?? "",
                Number(forecast.CyclesLeft), Number(forecast.CyclesLeftLower), Number(forecast.CyclesLeftUpper), "", forecast.CyclesLeft is null ? "" : "cycles", "", string.Join("; ", AnalysisWords.Suspects(forecast).Select(AnalysisWords.Of)),
            ]);
            csv.WriteRecord(
            [
                "index", made.Washer, forecast.Index, AnalysisWords.Of(forecast.State), made.At.Latest.ToString(), "", Number(forecast.Now), "", "", Number(forecast.Limit), forecast.Unit, "", forecast.LimitSource,
            ]);
        }

        foreach (var standing in (report.Peers?.Standings ?? []).Where(s => s.State != PeerState.Alike))
        {
            csv.WriteRecord(
            [
                "peers", standing.Washer, Feature.KeyOf(standing.Feature, standing.Station), standing.State == PeerState.StandsOut ? "stands out" : "too few peers", "", "",
                Number(standing.Difference), Number(standing.Difference - (2 * standing.Uncertainty)), Number(standing.Difference + (2 * standing.Uncertainty)), "", standing.Unit, "", PeerWords.Stands(standing),
            ]);
        }

        foreach (var line in report.Deviations)
        {
            csv.WriteRecord(
            [
                "setting", line.Washer, line.Finding.Setpoint, line.Conformed is null ? "deviates" : "conformed", line.Since.ToString(), line.Conformed?.ToString() ?? "",
                Number(line.Finding.Set), "", "", Number(line.Finding.Approved), line.Finding.Unit, "", $"{line.Finding.Recipe} version {line.Finding.RecipeVersion}",
            ]);
        }

        foreach (var alarm in report.Alarms.Open.Concat(report.Alarms.Aside))
        {
            csv.WriteRecord(["alarm", alarm.Washer, alarm.Alarm, AnalysisWords.Of(alarm.To), alarm.Since?.ToString() ?? "", alarm.Until?.ToString() ?? "", "", "", "", "", "", "", alarm.Text.What]);
        }

        foreach (var figure in report.Figures.Compared)
        {
            csv.WriteRecord(["alarm-figure", "", figure.Title, figure.IsWithin ? "kept" : "not kept", report.From.ToString(), report.Until.ToString(), Number(figure.Value), "", "", "", figure.Unit, "", figure.Recommended]);
        }
    }

    private static string Number(double? number) => number?.ToString("R", CultureInfo.InvariantCulture) ?? "";
}
