using System.CommandLine;
using System.CommandLine.Parsing;
using WashBridge.Core.Time;
using WashBridge.Reporting;

namespace WashBridge.Commands;

/// <summary>Cycles and kegs of a period with their verdicts.</summary>
internal static class ReportCommand
{
    public static Command Create()
    {
        var store = new Argument<FileInfo>("store") { Description = "The historian's file, such as demo.washdb. It may be in use by the service." };
        var from = new Option<Instant?>("--from") { Description = "Cycles that ended at or after this instant, ISO 8601 with a zone.", CustomParser = ParseInstant };
        var until = new Option<Instant?>("--until") { Description = "Cycles that ended before this instant.", CustomParser = ParseInstant };
        var washer = new Option<string?>("--washer") { Description = "Only this washer." };
        var zone = new Option<string>("--zone") { Description = "IANA time zone for times in tables and pages.", DefaultValueFactory = _ => "UTC" };
        var format = new Option<string>("--format") { Description = "table, csv, json or html.", DefaultValueFactory = _ => "table" };
        format.AcceptOnlyFromAmong("table", "csv", "json", "html");
        var output = new Option<FileInfo?>("--output", "-o") { Description = "Write here instead of to the terminal." };
        var command = new Command("report", """
            Cycles and kegs of a period, with verdicts and their evidence.

            Example: washbridge report demo.washdb --format html --output report.html
            """) { store, from, until, washer, zone, format, output };
        command.SetAction(parsed =>
        {
            var file = parsed.GetValue(store)!;
            if (!file.Exists)
            {
                Console.Error.WriteLine($"{file.FullName}: no such file. Give the historian's file, as `run` and `demo` print it at start.");
                return ExitCodes.ConfigurationErrors;
            }

            if (!TimeZoneInfo.TryFindSystemTimeZoneById(parsed.GetValue(zone)!, out var place))
            {
                Console.Error.WriteLine($"--zone {parsed.GetValue(zone)}: unknown. Give an IANA name such as Europe/Vienna.");
                return ExitCodes.ConfigurationErrors;
            }

            using var historian = Historian.Historian.OpenReader(file.FullName);
            var report = Report.Read(historian, parsed.GetValue(from), parsed.GetValue(until), place, parsed.GetValue(washer));
            using var written = parsed.GetValue(output) is { } path ? new StreamWriter(path.FullName) : null;
            Write(report, parsed.GetValue(format)!, written ?? Console.Out);
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

    private static Instant? ParseInstant(ArgumentResult result)
    {
        try
        {
            return Instant.Parse(result.Tokens[0].Value);
        }
        catch (FormatException)
        {
            result.AddError($"{result.Tokens[0].Value}: not an instant. Write it like 2031-03-05T06:00:00+01:00.");
            return null;
        }
    }
}
