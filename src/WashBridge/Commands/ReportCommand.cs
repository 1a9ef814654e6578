using System.CommandLine;
using System.Globalization;
using WashBridge.Configuration;
using WashBridge.Historian;
using WashBridge.Reporting;

namespace WashBridge.Commands;

/// <summary>Cycles and kegs of a period with their verdicts; or a report for the desk and the auditor, from one keg to a month.</summary>
internal sealed class ReportCommand
{
    private const string Cycles = "cycles";

    private readonly Argument<FileInfo> _store = new("store") { Description = "The historian's file, such as demo.washdb. It may be in use by the service." };
    private readonly Option<string> _about = new("--about") { Description = $"What the report is about: {string.Join(", ", Abouts)}.", DefaultValueFactory = _ => Cycles };
    private readonly Option<string?> _keg = new("--keg") { Description = "Certificate, deviation: the keg's id." };
    private readonly Option<string[]> _kegs = new("--kegs") { Description = "Lot: only these kegs, each by its last washing in the period.", AllowMultipleArgumentsPerToken = true };
    private readonly Option<string?> _cycle = new("--cycle") { Description = "Certificate, deviation: which washing of the keg, by the cycle's id; without it, the last." };
    private readonly Option<string?> _setpoint = new("--setpoint") { Description = "Deviation: a setting of the controller instead of a keg, such as sanitise.hold." };
    private readonly Option<string?> _day = new("--day") { Description = "Shift: the local date on which it begins, as 2031-03-05." };
    private readonly Option<string?> _begins = new("--begins") { Description = "Shift: the local time at which it begins, as 06:00; needed where the day has several." };
    private readonly Option<string?> _month = new("--month") { Description = "Month, as 2031-03." };
    private readonly Option<FileInfo?> _site = new("--site") { Description = "The site's file: its title, zone, recipes and shifts. Without it limits are told as the verdicts have them." };
    private readonly Option<string> _format = new("--format") { Description = "table, csv, json or html; all but cycles also as pdf and parquet.", DefaultValueFactory = _ => "table" };
    private readonly Option<FileInfo?> _output = new("--output", "-o") { Description = "Write here instead of to the terminal." };
    private readonly PeriodOptions _period = new();

    private static string[] Abouts => [Cycles, .. ReportDesk.Kinds.Select(k => k.ToString().ToLowerInvariant())];

    public static Command Create() => new ReportCommand().Make();

    private Command Make()
    {
        _about.AcceptOnlyFromAmong(Abouts);
        _format.AcceptOnlyFromAmong("table", "csv", "json", "html", "pdf", "parquet");
        var command = new Command("report", """
            Cycles and kegs of a period, with verdicts and their evidence; with --about a report for the desk and the auditor, every figure traceable to what was read.

            Examples:
              washbridge report demo.washdb --format html --output report.html
              washbridge report plant.washdb --about certificate --keg K-0042 --site config/site.yaml --format pdf --output K-0042.pdf
            """) { _store, _about, _keg, _kegs, _cycle, _setpoint, _day, _begins, _month, _site };
        _period.AddPeriodTo(command);
        command.Options.Add(_format);
        command.Options.Add(_output);
        command.SetAction(async (parsed, cancellation) =>
        {
            try
            {
                return await RunAsync(parsed, parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error, cancellation);
            }
            catch (ReportWishException wrong)
            {
                parsed.InvocationConfiguration.Error.WriteLine(wrong.Message);
                return ExitCodes.ConfigurationErrors;
            }
        });
        return command;
    }

    private async Task<int> RunAsync(ParseResult parsed, TextWriter output, TextWriter errors, CancellationToken cancellation)
    {
        var file = parsed.GetValue(_store)!;
        if (!file.Exists)
        {
            throw new ReportWishException($"{file.FullName}: no such file. Give the historian's file, as `run` and `demo` print it at start.");
        }

        if (_period.Zone(parsed, errors) is not { } zone)
        {
            return ExitCodes.ConfigurationErrors;
        }

        var (about, format) = (parsed.GetValue(_about)!, parsed.GetValue(_format)!);
        Check(parsed, about, format);
        Site? site = null;
        if (parsed.GetValue(_site) is { } path && (site = SiteFile.Load(path, errors)) is null)
        {
            return ExitCodes.ConfigurationErrors;
        }

        using var historian = Historian.Historian.OpenReader(file.FullName);
        if (about == Cycles)
        {
            var report = Report.Read(historian, parsed.GetValue(_period.From), parsed.GetValue(_period.Until), zone, parsed.GetValue(_period.Washer));
            using var written = parsed.GetValue(_output) is { } target ? new StreamWriter(target.FullName) : null;
            Write(report, format, written ?? output);
            return ExitCodes.Success;
        }

        await WriteAsync(parsed, historian, site, _period.IsZoneGiven(parsed) || site is null ? zone : null, output, cancellation);
        return ExitCodes.Success;
    }

    private async Task WriteAsync(ParseResult parsed, IHistorianReader historian, Site? site, TimeZoneInfo? zone, TextWriter output, CancellationToken cancellation)
    {
        var wish = Wish(parsed) with { Zone = zone };
        var document = ReportDesk.Make(wish, historian, site, cancellation);

        // In memory first: a report that fails leaves no half of a file.
        using var made = new MemoryStream();
        await ReportDesk.WriteAsync(document, Enum.Parse<ReportFormat>(parsed.GetValue(_format)!, ignoreCase: true), made, cancellation);
        made.Position = 0;
        if (parsed.GetValue(_output) is { } target)
        {
            await using var stream = target.Create();
            await made.CopyToAsync(stream, cancellation);
        }
        else
        {
            output.Write(System.Text.Encoding.UTF8.GetString(made.ToArray()));
        }
    }

    private ReportWish Wish(ParseResult parsed) => new(Enum.Parse<ReportKind>(parsed.GetValue(_about)!, ignoreCase: true))
    {
        Keg = parsed.GetValue(_keg),
        Kegs = parsed.GetValue(_kegs) ?? [],
        Cycle = parsed.GetValue(_cycle),
        Setpoint = parsed.GetValue(_setpoint),
        Washer = parsed.GetValue(_period.Washer),
        From = parsed.GetValue(_period.From),
        Until = parsed.GetValue(_period.Until),
        Day = Date(parsed, _day, "yyyy-MM-dd"),
        Month = Date(parsed, _month, "yyyy-MM"),
        Begins = parsed.GetValue(_begins) is not { } time ? null
            : TimeOnly.TryParseExact(time, "HH:mm", CultureInfo.InvariantCulture, DateTimeStyles.None, out var at) ? at
            : throw new ReportWishException($"{_begins.Name}: found {time}; allowed: a time such as 06:00"),
    };

    private static DateOnly? Date(ParseResult parsed, Option<string?> option, string form) => parsed.GetValue(option) is not { } text ? null
        : DateOnly.TryParseExact(text, form, CultureInfo.InvariantCulture, DateTimeStyles.None, out var date) ? date
        : throw new ReportWishException($"{option.Name}: found {text}; allowed: {(form.Length > 7 ? "a date such as 2031-03-05" : "a month such as 2031-03")}");

    /// <summary>What does not go together is refused, never ignored.</summary>
    private void Check(ParseResult parsed, string about, string format)
    {
        if (format is "pdf" or "parquet")
        {
            if (about == Cycles)
            {
                throw new ReportWishException($"--format: found {format} with --about {Cycles}; allowed: table, csv, json or html, or another --about ({string.Join(", ", Abouts.Skip(1))})");
            }

            if (parsed.GetValue(_output) is null)
            {
                throw new ReportWishException($"--output: found none with --format {format}; allowed: a file, because a terminal cannot show it");
            }
        }

        (Option Option, string[] Allowed)[] rules =
        [
            (_keg, ["certificate", "deviation"]), (_cycle, ["certificate", "deviation"]), (_kegs, ["lot"]), (_setpoint, ["deviation"]), (_day, ["shift"]), (_begins, ["shift"]), (_month, ["month"]),
            (_site, [.. Abouts.Skip(1)]),
        ];
        foreach (var (option, allowed) in rules.Where(r => parsed.GetResult(r.Option) is { Implicit: false } && !r.Allowed.Contains(about)))
        {
            throw new ReportWishException($"{option.Name}: found with --about {about}; allowed: with {string.Join(", ", allowed)}");
        }
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
