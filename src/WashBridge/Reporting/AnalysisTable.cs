using System.Globalization;
using Spectre.Console;
using WashBridge.Core.Upkeep;

namespace WashBridge.Reporting;

/// <summary>Findings for the terminal.</summary>
internal static class AnalysisTable
{
    public static void Write(AnalysisReport report, IAnsiConsole console)
    {
        Say(console, $"From {report.Local(report.From)} until {report.Local(report.Until)}.");
        Drifts(report, console);
        Forecasts(report, console);
        Peers(report, console);
        Deviations(report, console);
        Alarms(report, console);
        Figures(report, console);
        if (report.Recomputed is { } recomputed)
        {
            Say(console, recomputed.Text);
        }

        Say(console, AnalysisWords.Claim);
        Say(console, Words.Caution);
    }

    private static void Drifts(AnalysisReport report, IAnsiConsole console)
    {
        if (report.Drifts.Count == 0)
        {
            Say(console, "Nothing drifts, as far as it could be measured.");
            return;
        }

        var table = Table("Drifts", "washer", "what", "since (90 %)", "by how much", "kegs", "state");
        foreach (var drift in report.Drifts)
        {
            Row(
                table,
                drift.Found.Washer,
                AnalysisWords.Title(drift.Finding),
                $"{report.Local(drift.Finding.Onset.At)}\n({report.Day(drift.Finding.Onset.Earliest)} to {report.Day(drift.Finding.Onset.Latest)})",
                AnalysisWords.Size(drift.Finding),
                AnalysisWords.Kegs(drift.Finding),
                drift.Ended is null ? "drifts" : $"ended: {drift.Ended.Reason}");
        }

        console.Write(table);
    }

    private static void Forecasts(AnalysisReport report, IAnsiConsole console)
    {
        if (report.Forecasts.Count == 0)
        {
            Say(console, "No forecasts yet.");
            return;
        }

        var table = Table("Forecasts", "washer", "component", "state", "left", "due", "index", "likely causes");
        foreach (var line in report.Forecasts)
        {
            var forecast = line.Forecast;
            Row(
                table,
                line.Made.Washer,
                forecast.Component.Key,
                AnalysisWords.Of(forecast.State),
                AnalysisWords.Left(forecast),
                AnalysisWords.Due(report, forecast),
                AnalysisWords.Index(forecast),
                string.Join("\n", AnalysisWords.Suspects(forecast).Take(3).Select(AnalysisWords.Of)));
        }

        console.Write(table);
        foreach (var (line, evidence) in from line in report.Forecasts where line.Forecast.State != ForecastState.NoTrend from evidence in line.Forecast.Evidence.Take(4) select (line, evidence))
        {
            Say(console, $"  {line.Made.Washer} {line.Forecast.Component.Key}: {evidence}");
        }

        foreach (var score in report.Scores)
        {
            Say(console, $"  {score.Washer} {score.Score.Forecast.Component.Key}: {score.Score.Outcome}");
        }
    }

    private static void Peers(AnalysisReport report, IAnsiConsole console)
    {
        if (report.Peers is not { } peers)
        {
            return;
        }

        var table = Table("Beside their peers", "who", "what", "difference", "now", "cycles", "state");
        foreach (var line in peers.StandOut.Concat(peers.Differing))
        {
            var one = line.Clearest;
            Row(table, PeerWords.Who(one), PeerWords.Title(line), PeerWords.Difference(one), PeerWords.Stands(one), one.Cycles.ToString(CultureInfo.InvariantCulture), PeerWords.State(one));
        }

        if (table.Rows.Count > 0)
        {
            console.Write(table);
        }

        foreach (var sentence in PeerWords.Summary(peers))
        {
            Say(console, sentence);
        }
    }

    private static void Deviations(AnalysisReport report, IAnsiConsole console)
    {
        if (report.Deviations.Count == 0)
        {
            Say(console, "All settings seen are as the recipe approves.");
            return;
        }

        var table = Table("Settings that left the recipe", "washer", "setting", "approved", "set", "since", "until");
        foreach (var line in report.Deviations)
        {
            var finding = line.Finding;
            Row(
                table,
                line.Washer,
                finding.Setpoint,
                $"{AnalysisWords.Number(finding.Approved)}{AnalysisWords.Unit(finding.Unit)} ({finding.Recipe} {finding.RecipeVersion})",
                AnalysisWords.Number(finding.Set) + AnalysisWords.Unit(finding.Unit),
                report.Local(line.Since),
                line.Conformed is { } end ? report.Local(end) : "still");
        }

        console.Write(table);
    }

    private static void Alarms(AnalysisReport report, IAnsiConsole console)
    {
        var shown = report.Alarms.Open.Concat(report.Alarms.Aside).ToList();
        if (shown.Count == 0)
        {
            Say(console, "No alarm stands.");
            return;
        }

        var table = Table("Alarms", "washer", "alarm", "priority", "state", "since", "what");
        foreach (var alarm in shown)
        {
            Row(
                table,
                alarm.Washer,
                alarm.Alarm,
                AnalysisWords.Of(alarm.Priority),
                AnalysisWords.Of(alarm.To) + (alarm.Until is { } end ? $" until {report.Local(end)}" : "") + (AnalysisWords.IsAside(alarm) && alarm.Reason is { Length: > 0 } reason ? $": {reason}" : ""),
                alarm.Since is { } since ? report.Local(since) : "",
                AnalysisWords.IsAside(alarm) ? alarm.Text.What : $"{alarm.Text.What}\nKegs: {alarm.Text.Kegs}\nLook at: {alarm.Text.LookAt}{(alarm.Text.Caution.Length > 0 ? $"\nCaution: {alarm.Text.Caution}" : "")}");
        }

        console.Write(table);
    }

    private static void Figures(AnalysisReport report, IAnsiConsole console)
    {
        var figures = report.Figures;
        if (figures.Announced == 0 && figures.Standing == 0)
        {
            return;
        }

        var table = Table("How the alarms serve", "figure", "value", "recommended");
        foreach (var figure in figures.Compared)
        {
            Row(table, figure.Title, AnalysisWords.Value(figure), AnalysisWords.Recommended(figure));
        }

        console.Write(table);
        Say(console, AnalysisWords.FiguresNote);
    }

    private static Table Table(string title, params string[] columns) => new Table { Title = new TableTitle(title) }.AddColumns(columns);

    private static void Row(Table table, params string[] cells) => table.AddRow(cells.Select(c => new Text(c)));

    private static void Say(IAnsiConsole console, string text) => console.WriteLine(text);
}
