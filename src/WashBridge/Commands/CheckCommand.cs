using System.CommandLine;
using WashBridge.Certificates;
using WashBridge.Checking;
using WashBridge.Configuration;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Recipes;

namespace WashBridge.Commands;

/// <summary><c>check</c>: is the configuration right, and do the controllers give what it asks for?</summary>
internal static class CheckCommand
{
    public static Command Create(TimeProvider time)
    {
        var site = new Argument<string>("site") { Description = "The site file.", DefaultValueFactory = _ => "config/site.yaml" };
        var offline = new Option<bool>("--offline") { Description = "Check the files only; connect to nothing." };
        var washers = new Option<string[]>("--washer") { Description = "Only this washer, by its id; may be given more than once.", HelpName = "id", AllowMultipleArgumentsPerToken = true };
        var command = new Command("check", """
            Checks a site's files, connects to every washer, reads every tag once and prints what came and what it means. Of an OPC UA server it tells
            what security it offers, whether its certificate is accepted and how to trust it, its clock and its limits. MQTT brokers are connected to as well.

            Names every problem with file, line, field, value found and values allowed. Says which requirements of the recipes the tag maps leave unjudgeable.

            Example: washbridge check config/example/site.yaml --offline
            Exit codes: 0 fine; 1 the command line or the configuration is wrong; 2 a controller or broker is not reached, or does not give what is asked for.
            """)
        {
            site, offline, washers,
        };
        command.SetAction((parsed, cancellation) =>
        {
            var output = parsed.InvocationConfiguration.Output;
            return RunAsync(parsed.GetValue(site)!, parsed.GetValue(offline), parsed.GetValue(washers) ?? [], output, time, cancellation);
        });
        return command;
    }

    private static async Task<int> RunAsync(string path, bool offline, string[] only, TextWriter output, TimeProvider time, CancellationToken cancellation)
    {
        var printer = new CheckPrinter(output, Terminal.Of(output), path);
        var loaded = ConfigurationLoader.Load(path);
        if (loaded.Site is not { } site)
        {
            printer.PrintProblems(loaded.Problems);
            return ExitCodes.ConfigurationErrors;
        }

        if (only.Except(site.Washers.Select(w => w.Model.Washer)).ToList() is { Count: > 0 } unknown)
        {
            output.WriteLine($"--washer: the site has no such washer; found {string.Join(", ", unknown)}; allowed: {string.Join(", ", site.Washers.Select(w => w.Model.Washer))}");
            return ExitCodes.ConfigurationErrors;
        }

        printer.PrintSite(site, loaded.Files);
        printer.PrintWarnings(site.Warnings);
        printer.PrintConflicts(FileConflicts.Find(site));
        var chosen = site.Washers.Where(w => only.Length == 0 || only.Contains(w.Model.Washer)).ToList();
        try
        {
            return offline ? PrintOffline(chosen, printer) : await ConnectAsync(site, chosen, wholeSite: only.Length == 0, printer, time, cancellation);
        }
        catch (PkiException e)
        {
            output.WriteLine(e.Message);
            return ExitCodes.ConfigurationErrors;
        }
    }

    private static int PrintOffline(List<WasherConfiguration> washers, CheckPrinter printer)
    {
        washers.ForEach(printer.PrintCoverage);
        return ExitCodes.Success;
    }

    /// <summary>All at once, so that washers that are switched off do not add up; printed in the order of the site.</summary>
    private static async Task<int> ConnectAsync(Site site, List<WasherConfiguration> washers, bool wholeSite, CheckPrinter printer, TimeProvider time, CancellationToken cancellation)
    {
        using var application = washers.Any(w => w.Connection is OpcUaConnection) ? new OpcUaApplication(site.OpcUa, time) : null;
        var probes = washers.Select(w => ProbeAsync(w, application, time, cancellation)).ToList();
        var pairProbe = wholeSite && site.Pair is { } pair ? PairProbe.ProbeAsync(pair, site, time, cancellation) : null;
        var brokerProbes = (wholeSite ? site.Mqtt : []).Select(b => MqttProbe.ProbeAsync(b, cancellation)).ToList();
        var checks = new List<WasherCheck>();
        foreach (var (washer, probe) in washers.Zip(probes))
        {
            printer.PrintCoverage(washer);
            checks.Add(await probe);
            printer.PrintReadings(checks[^1]);
        }

        var brokerChecks = await Task.WhenAll(brokerProbes);
        printer.PrintBrokers(brokerChecks);
        var isPaired = true;
        if (pairProbe is not null)
        {
            var pairCheck = await pairProbe;
            printer.PrintPair(pairCheck);
            isPaired = pairCheck.Failure is null;
        }

        printer.PrintSummary(checks);
        return isPaired && checks.TrueForAll(c => c.IsFine) && Array.TrueForAll(brokerChecks, c => c.Failure is null) ? ExitCodes.Success : ExitCodes.DeviceErrors;
    }

    private static async Task<WasherCheck> ProbeAsync(WasherConfiguration washer, OpcUaApplication? application, TimeProvider time, CancellationToken cancellation) =>
        washer.Connection is OpcUaConnection ? await new OpcUaProbe(washer, application!, time).ProbeAsync(cancellation) : await ModbusProbe.ProbeAsync(washer, time, cancellation);
}
