using System.CommandLine;
using WashBridge.Reporting;

namespace WashBridge.Commands;

/// <summary>Cycles and kegs of a period with their verdicts.</summary>
internal static class ReportCommand
{
    public static Command Create()
    {
        var store = new Argument<FileInfo>("store") { Description = "The historian's file, such as demo.washdb. It may be in use by the service." };
        var period = new PeriodOptions();
        var command = new Command("report", """
            Cycles and kegs of a period, with verdicts and their evidence.

            Example: washbridge report demo.washdb --format html --output report.html
            """) { store };
        period.AddTo(command);
        command.SetAction(parsed =>
        {
            var file = parsed.GetValue(store)!;
            if (!file.Exists)
            {
                Console.Error.WriteLine($"{file.FullName}: no such file. Give the historian's file, as `run` and `demo` print it at start.");
                return ExitCodes.ConfigurationErrors;
            }

            if (period.Zone(parsed, Console.Error) is not { } place)
            {
                return ExitCodes.ConfigurationErrors;
            }

            using var historian = Historian.Historian.OpenReader(file.FullName);
            var report = Report.Read(historian, parsed.GetValue(period.From), parsed.GetValue(period.Until), place, parsed.GetValue(period.Washer));
            using var written = parsed.GetValue(period.Output) is { } path ? new StreamWriter(path.FullName) : null;
            Write(report, parsed.GetValue(period.Format)!, written ?? Console.Out);
            return ExitCodes.Success;
        });
        return command;
    }

    private static void Write(Report report, string format, TextWriter output)
    {
        switch (format)
        {
            case "csv":
                CsvReport.Write(report, output);
                break;
            case "json":
                JsonReport.Write(report, output);
                break;
            case "html":
                HtmlReport.Write(report, output);
                break;
            default:
                TableReport.Write(report, Terminal.On(output));
                break;
        }
    }
}
