using Spectre.Console;
using WashBridge.Core.Cycles;
using WashBridge.Core.Verdicts;

namespace WashBridge.Reporting;

/// <summary>For the terminal: a line a keg, and under it the reasons where it is not met or not proven.</summary>
internal static class TableReport
{
    public static void Write(Report report, IAnsiConsole console)
    {
        console.Write(Cycles(report));
        console.Write(Kegs(report));
        console.WriteLine($"{report.Cycles.Count} cycles, {report.Kegs.Count} kegs: {report.Count(Verdict.Met)} met, {report.Count(Verdict.NotMet)} not met, {report.Count(Verdict.NotProven)} not proven.");
        console.WriteLine(Words.Claim);
    }

    public static string Styled(Verdict verdict) => verdict switch
    {
        Verdict.Met => "met",
        Verdict.NotMet => "[bold]NOT MET[/]",
        _ => "[bold]not proven[/]",
    };

    private static Table Cycles(Report report)
    {
        var table = new Table { Title = new TableTitle("Cycles") }.AddColumns("ended", "washer", "outcome", "took", "slowest drain by station");
        foreach (var cycle in report.Cycles)
        {
            table.AddRow(report.Local(cycle.End.Latest.Wall), cycle.Washer, Words.Of(cycle.Outcome) + (cycle.StartUnseen ? ", start not seen" : ""), Words.Of(cycle.Start.Until(cycle.End)), Markup.Escape(Drains(cycle)));
        }

        return table;
    }

    private static string Drains(CycleRecord cycle) => string.Join("\n", cycle.Stations
        .Select(s => (s.Station, Drain: Words.SlowestDrain(s)))
        .Where(s => s.Drain is not null)
        .Select(s => $"{(s.Drain!.Shared ? "all" : s.Station.ToString())}: {Words.Of(s.Drain.Time)} ({s.Drain.Phase})")
        .Distinct());

    private static Table Kegs(Report report)
    {
        var table = new Table { Title = new TableTitle("Kegs") }.AddColumns("ended", "washer", "station", "keg", "verdict", "why");
        foreach (var keg in report.Kegs)
        {
            table.AddRow(
                new Markup(report.Local(keg.Ended)),
                new Markup(keg.Verdict.Washer),
                new Markup(keg.Verdict.Station.ToString()),
                new Text(keg.Verdict.KegId),
                new Markup(Styled(keg.Verdict.Verdict)),
                new Text(string.Join("\n", keg.Reasons.Select(r => $"{r.Requirement}: {r.Evidence}"))));
        }

        return table;
    }
}
