using System.CommandLine;
using Microsoft.Extensions.Logging.Console;
using Spectre.Console;
using WashBridge.Configuration;
using WashBridge.Core.Time;
using WashBridge.Forwarding;
using WashBridge.Historian;

namespace WashBridge.Commands;

/// <summary>Sends a period of the historian to an InfluxDB server again, beside a running service.</summary>
internal static class ForwardCommand
{
    private const int MostShown = 20;

    public static Command Create(TimeProvider time)
    {
        var siteFile = new Argument<FileInfo>("site") { Description = "The site's file." };
        var to = new Option<string?>("--to") { Description = "The server's id in the site's file. Left out: the only one." };
        var samples = new Option<bool>("--samples") { Description = "Send every recorded sample too, also where the site's file does not say so." };
        var period = new PeriodOptions();
        var command = new Command("forward", """
            Sends a period of the historian to an InfluxDB server: to a new server, or what one has lost. A point that is there already is the same point again, so that sending twice changes nothing.
            The service may run meanwhile, and goes on from where it is.

            Example: washbridge forward config/site.yaml --to plant --from 2031-01-01T00:00:00Z --until 2031-02-01T00:00:00Z
            Exit codes: 0 the server has all of it; 1 the command line or the configuration is wrong; 3 the historian cannot be read; 4 the server does not take it, or refused lines.
            """) { siteFile, to, period.From, period.Until, samples };
        command.SetAction(async (parsed, cancellation) =>
        {
            var (output, errors) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
            if (SiteFile.Load(parsed.GetValue(siteFile)!, errors) is not { } site || Server(site, parsed.GetValue(to), errors) is not { } server)
            {
                return ExitCodes.ConfigurationErrors;
            }

            using var historian = Historian.Historian.OpenReader(site.Store.Path);
            if (First(historian) is not { } first)
            {
                output.WriteLine("The historian is empty: there is nothing to send.");
                return ExitCodes.Success;
            }

            var from = parsed.GetValue(period.From) ?? first;
            var until = parsed.GetValue(period.Until) ?? Instant.Ceiling(time.GetUtcNow());
            if (from >= until)
            {
                errors.WriteLine($"--until: found {until}, which is not after {from}, where the period begins");
                return ExitCodes.ConfigurationErrors;
            }

            return await SendAsync(site, server with { Samples = server.Samples || parsed.GetValue(samples) }, historian, from, until, time, output, errors, cancellation);
        });
        return command;
    }

    /// <summary>Null after printing what is wrong.</summary>
    private static InfluxConfiguration? Server(Site site, string? id, TextWriter errors)
    {
        var found = id is null ? (site.Influx.Count == 1 ? site.Influx[0] : null) : site.Influx.FirstOrDefault(i => i.Id == id);
        if (found is null)
        {
            var allowed = site.Influx.Count == 0 ? "the site's file names no server under influx" : "allowed: " + string.Join(", ", site.Influx.Select(i => i.Id));
            errors.WriteLine($"--to: found {(id is null ? "nothing" : $"'{id}'")}; {allowed}");
        }

        return found;
    }

    /// <summary>When the log begins.</summary>
    private static Instant? First(IHistorianReader historian) => historian.ReadLog(0, 1) is [var entry] ? (entry.Event?.At ?? entry.Frame!.Read).Earliest : null;

    private static async Task<int> SendAsync(
        Site site, InfluxConfiguration server, IHistorianReader historian, Instant from, Instant until, TimeProvider time, TextWriter output, TextWriter errors, CancellationToken cancellation)
    {
        using var log = LoggerFactory.Create(l => l.AddSimpleConsole(c => c.SingleLine = true).Services.Configure<ConsoleLoggerOptions>(o => o.LogToStandardErrorThreshold = LogLevel.Trace));
        using var backfill = new Backfill(server, site.Id, historian, time, log.CreateLogger<Backfill>());
        try
        {
            var result = await WithProgressAsync(Terminal.Of(output), progress => backfill.RunAsync(from, until, progress, cancellation));
            output.WriteLine($"{server.Id} has {from} to {until}: {result.Lines:N0} lines sent{(result.SetAside.Count == 0 ? "." : $", {result.SetAside.Count:N0} refused:")}");
            foreach (var line in result.SetAside.Take(MostShown))
            {
                output.WriteLine($"  log entry {line.Origin.Sequence}{(line.Origin.EventId is { } id ? $" ({id})" : "")}: {line.Reason}");
            }

            return result.SetAside.Count == 0 ? ExitCodes.Success : ExitCodes.Failure;
        }
        catch (InfluxWriteException refused)
        {
            errors.WriteLine($"{server.Id} at {server.Url}: {refused.Message}. Put that right and run this again: what was sent stays sent.");
            return ExitCodes.Failure;
        }
    }

    private static Task<BackfillResult> WithProgressAsync(IAnsiConsole? terminal, Func<IProgress<HistorianProgress>?, Task<BackfillResult>> work) =>
        terminal is null ? work(null) : terminal.Progress().AutoClear(true).StartAsync(progress => work(new ProgressBar(progress.AddTask("sending"))));
}
