using System.CommandLine;
using Spectre.Console;
using WashBridge.Analysing;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Reporting;

namespace WashBridge.Commands;

/// <summary>What drifts, what will need maintenance and when, who is unlike its peers, and alarms, of a period.</summary>
internal static class AnalyseCommand
{
    public static Command Create()
    {
        var store = new Argument<FileInfo>("store") { Description = "The historian's file, such as demo.washdb. It may be in use by the service." };
        var period = new PeriodOptions();
        var recompute = new Option<bool>("--recompute") { Description = "Fold the events anew with the site's configuration (--site), and say whether the findings are those stored." };
        var siteFile = new Option<FileInfo?>("--site") { Description = "The site's file; needed by --recompute." };
        var command = new Command("analyse", """
            What drifts, what will need maintenance and when, which washer or station is unlike its peers, settings that left the recipe, and alarms: as the service found it, or folded anew.

            Example: washbridge analyse plant.washdb --format html --output analysis.html
            """) { store, recompute, siteFile };
        period.AddTo(command);
        command.SetAction((parsed, cancellation) =>
        {
            var file = parsed.GetValue(store)!;
            if (period.Zone(parsed, Console.Error) is not { } zone || !IsThere(file, Console.Error))
            {
                return Task.FromResult(ExitCodes.ConfigurationErrors);
            }

            Configuration.Site? site = null;
            if (parsed.GetValue(recompute))
            {
                if (parsed.GetValue(siteFile) is not { } path)
                {
                    Console.Error.WriteLine("--recompute: needs --site FILE, whose settings the analysis uses.");
                    return Task.FromResult(ExitCodes.ConfigurationErrors);
                }

                if ((site = SiteFile.Load(path, Console.Error)) is null)
                {
                    return Task.FromResult(ExitCodes.ConfigurationErrors);
                }
            }

            using var historian = Historian.Historian.OpenReader(file.FullName);
            var washer = parsed.GetValue(period.Washer);
            if (Period(historian, parsed.GetValue(period.From), parsed.GetValue(period.Until)) is not { } span)
            {
                Console.Error.WriteLine($"{file.FullName}: holds nothing of this period.");
                return Task.FromResult(ExitCodes.ConfigurationErrors);
            }

            var stored = AnalysisReport.Stored(historian, washer, span.Until);
            var anew = site is null ? null : WithProgress(share => Recomputation.Fold(historian, site, washer, span.Until, share, cancellation));
            var report = AnalysisReport.Of(anew ?? stored, span.From, span.Until, zone) with
            {
                Peers = PeerReport.Of(PeerCycles.Read(historian, span.From, span.Until), washer),
                Recomputed = anew is null ? null : Recomputation.Compare(anew, stored),
            };
            using var written = parsed.GetValue(period.Output) is { } target ? new StreamWriter(target.FullName) : null;
            Write(report, parsed.GetValue(period.Format)!, written ?? Console.Out);
            return Task.FromResult(ExitCodes.Success);
        });
        return command;
    }

    internal static void Write(AnalysisReport report, string format, TextWriter output)
    {
        switch (format)
        {
            case "csv":
                AnalysisCsv.Write(report, output);
                break;
            case "json":
                AnalysisJson.Write(report, output);
                break;
            case "html":
                AnalysisHtml.Write(report, output);
                break;
            default:
                AnalysisTable.Write(report, Terminal.On(output));
                break;
        }
    }

    /// <summary>What is not given is where the log begins and just past where it ends.</summary>
    internal static (Instant From, Instant Until)? Period(IHistorianReader historian, Instant? from, Instant? until)
    {
        var first = historian.ReadLog(0, 1) is [var begin] ? begin.Frame?.Read.Earliest ?? begin.Event?.At.Earliest : null;
        var last = historian.ReadLog(Math.Max(0, historian.LastSequence - 1), 1) is [var end] ? end.Frame?.Read.Latest ?? end.Event?.At.Latest : null;
        var (start, stop) = (from ?? first, until ?? last + TimeSpan.FromTicks(TimeSpan.TicksPerMicrosecond));
        return start is { } a && stop is { } b && b > a ? (a, b) : null;
    }

    private static bool IsThere(FileInfo file, TextWriter errors)
    {
        if (!file.Exists)
        {
            errors.WriteLine($"{file.FullName}: no such file. Give the historian's file, as `run` and `demo` print it at start.");
        }

        return file.Exists;
    }

    /// <summary>On the error output, so that what is asked for can be written to a file or a pipe.</summary>
    private static T WithProgress<T>(Func<Action<double>, T> work)
    {
        var console = AnsiConsole.Create(new AnsiConsoleSettings { Out = new AnsiConsoleOutput(Console.Error) });
        return console.Progress().Start(progress =>
        {
            var task = progress.AddTask("analysing", maxValue: 1);
            var done = work(share => task.Value(share));
            task.Value(1);
            return done;
        });
    }
}
