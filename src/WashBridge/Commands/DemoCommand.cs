using System.CommandLine;
using System.Net;
using Microsoft.Extensions.Logging.Abstractions;
using Spectre.Console;
using WashBridge.Certificates;
using WashBridge.Configuration;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Demo;
using WashBridge.Forwarding;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Reporting;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Hosting;
using WashBridge.Simulator.Truth;
using WashBridge.Web;

namespace WashBridge.Commands;

/// <summary>Simulated washers behind a Modbus and an OPC UA server, a bridge that reads them, and a live view of what the historian commits.</summary>
internal static class DemoCommand
{
    private const double Slowest = 0.1;
    private const double Fastest = 60;
    private const double ShortestMinutes = 0.1;
    private const double LongestMinutes = 24 * 60;
    private const double LongestHistory = 48;

    /// <summary>Beside the store: the certificates with which bridge and simulated controller know each other.</summary>
    private const string PkiSuffix = ".pki";

    /// <summary>Real time from the first reads to the washing, however hurried that is.</summary>
    private static readonly TimeSpan HeadStart = TimeSpan.FromSeconds(1);

    /// <summary>Real time that may pass until washers are read, on a machine under load.</summary>
    private static readonly TimeSpan GettingGoing = TimeSpan.FromSeconds(20);

    public static Command Create()
    {
        var speed = new Option<double>("--speed") { Description = "Simulated seconds a second, 0.1 to 60.", DefaultValueFactory = _ => DemoScenario.DefaultSpeed }.Within(Slowest, Fastest);
        var minutes = new Option<double?>("--minutes") { Description = "End after this many simulated minutes of washing, 0.1 to 1440, at the time that it is then; without it, Ctrl-C ends it." }.Within(ShortestMinutes, LongestMinutes);
        var store = new Option<FileInfo>("--store") { Description = "The historian to make; an older one of that name is replaced.", DefaultValueFactory = _ => new FileInfo("demo.washdb") };
        var hours = new Option<double>("--history")
        {
            Description = "Hours of washing simulated in advance, 0 to 48: from it the analysis learns what is usual. About 19 cycles of each washer an hour.",
            DefaultValueFactory = _ => DemoPast.StandardLength.TotalHours,
        }.Within(0, LongestHistory);
        var port = new Option<int?>("--port") { Description = "Where the pages are, on this machine only. Left out: 15080, or any free port where that is taken. 0: any free port." }.Within(0, IPEndPoint.MaxPort);
        var influx = new Option<string?>("--influx") { Description = "Forward all of it to the database 'washers' of an InfluxDB 1.x without login, such as http://127.0.0.1:8086; it must be there." };
        var command = new Command("demo", """
            Simulated washers through the whole pipeline: real Modbus TCP and OPC UA on loopback, live cycles and verdicts. Leaves a historian that `report` reads, and the truth beside it.

            Example: washbridge demo --speed 20 --minutes 15
            """) { speed, minutes, store, hours, port, influx };
        command.SetAction((parsed, cancellation) => RunAsync(parsed.GetValue(speed), parsed.GetValue(minutes), parsed.GetValue(store)!, TimeSpan.FromHours(parsed.GetValue(hours)), parsed.GetValue(port), parsed.GetValue(influx), cancellation));
        return command;
    }

    private static async Task<int> RunAsync(double speed, double? minutes, FileInfo store, TimeSpan history, int? port, string? influx, CancellationToken cancellation)
    {
        if (LoadSite() is not { } loaded)
        {
            return ExitCodes.ConfigurationErrors;
        }

        var site = loaded with { Store = loaded.Store with { Path = store.FullName }, Http = new HttpConfiguration(DemoPages.Choose(port ?? loaded.Http!.Port)) };

        if (influx is not null)
        {
            if (!Uri.TryCreate(influx, UriKind.Absolute, out var server) || server.Scheme is not ("http" or "https"))
            {
                Console.Error.WriteLine($"--influx: found '{influx}'; allowed: an address such as http://127.0.0.1:8086");
                return ExitCodes.ConfigurationErrors;
            }

            site = site with { Influx = [new InfluxConfiguration { Id = "demo", Url = server, Api = 1, Bucket = "washers" }] };
        }

        if (store.Directory is { Exists: false } folder)
        {
            Console.Error.WriteLine($"--store {store.FullName}: there is no folder {folder.FullName}. Make it, or name a file in one that exists.");
            return ExitCodes.ConfigurationErrors;
        }

        Replace(store);
        if (history > TimeSpan.Zero)
        {
            DemoHistory.Make(site, store, history, Instant.Floor(Start()), Terminal.Output, cancellation);
        }

        var begun = Start();
        var time = new ScaledTime(speed, begun);
        using var historian = Historian.Historian.Open(store.FullName, new HistorianOptions(), time);
        using var opcUa = new OpcUaApplication(site.OpcUa with { Pki = store.FullName + PkiSuffix, HostNames = ["localhost", "127.0.0.1"] }, time);
        await using var host = await DemoScenario.StartAsync(DemoTrust.Introduce(opcUa, Path.Combine(opcUa.Store.Root, "controller"), time), time);
        using var truth = new TruthWriter(store.FullName + ".truth.jsonl", host.StartedAt);
        foreach (var hosted in host.Washers)
        {
            truth.Follow(hosted.Washer);
        }

        Console.WriteLine($"{site.Title}: {site.Washers.Count} simulated washers at {speed:0.#} times life. Historian: {store.FullName}. Ctrl-C ends it.");
        Console.WriteLine($"Pages: http://localhost:{site.Http.Port}/");
        using var ending = CancellationTokenSource.CreateLinkedTokenSource(cancellation);
        await WatchAsync(Attach(site, host, speed), opcUa, historian, time, BeginAsync, ending);
        Summarise(historian, site, store, Instant.Floor(begun));
        return ExitCodes.Success;

        // What ends by itself has ended by now, by its own clock: dashboards show nothing that lies ahead.
        DateTimeOffset Start()
        {
            var start = TimeProvider.System.GetUtcNow() - (minutes is { } limit ? ((TimeSpan.FromMinutes(limit) / speed) + GettingGoing) * Math.Max(0, speed - 1) : TimeSpan.Zero);
            return start.AddTicks(-(start.Ticks % TimeSpan.TicksPerSecond));
        }

        // The washing waits until every washer is read, however long a cold program takes: else its first cycles were missed.
        async Task BeginAsync(Bridge bridge)
        {
            try
            {
                var seen = bridge.Signal.Last;
                while (bridge.Sources.Any(s => s.CountsOf(0).Done == 0))
                {
                    seen = await bridge.Signal.WaitAsync(seen, ending.Token);
                }

                foreach (var hosted in host.Washers)
                {
                    hosted.Begin(HeadStart * speed);
                }

                if (minutes is { } limit)
                {
                    await Task.Delay(TimeSpan.FromMinutes(limit), time, ending.Token);
                    await ending.CancelAsync();
                }
            }
            catch (OperationCanceledException) when (ending.IsCancellationRequested)
            {
            }
        }
    }

    /// <summary>Runs bridge and view until the time is up, somebody ends it, or the bridge fails.</summary>
    /// <param name="begin">What sets the washing going, and ends it where it is to end by itself.</param>
    private static async Task WatchAsync(Site site, OpcUaApplication opcUa, IHistorian historian, TimeProvider time, Func<Bridge, Task> begin, CancellationTokenSource ending)
    {
        var signal = new HistorianSignal();
        var view = new LiveView(historian, Terminal.Output);
        // The server's pace is real time, however fast the washing goes.
        var forwarding = site.Influx.Select(i => new InfluxFollower(i, site.Id, historian, signal, site.Store.Path, TimeProvider.System, NullLogger<InfluxFollower>.Instance)).ToList();
        Bridge bridge = null!;
        var telling = site.Influx.Select(i => new HealthWriter(i, site.Id, () => BridgeHealth.Of(site, bridge, historian, forwarding, [], [], time), time, NullLogger<HealthWriter>.Instance)).ToList();
        bridge = new Bridge(
            site,
            historian,
            signal,
            [cancellation => view.RunAsync(signal, cancellation), .. forwarding.Select(f => (Func<CancellationToken, Task>)f.RunAsync), .. telling.Select(t => (Func<CancellationToken, Task>)t.RunAsync)],
            time,
            NullLoggerFactory.Instance,
            bootId: null,
            opcUa);
        using var pages = DemoPages.Make(site, historian, signal, bridge, time);
        await pages.StartAsync(ending.Token);
        var begun = begin(bridge);
        await bridge.RunAsync(ending.Token);
        await ending.CancelAsync();
        await begun;
        await pages.StopAsync(CancellationToken.None);
        view.Print();
        telling.ForEach(t => t.Dispose());
        forwarding.ForEach(f => f.Dispose());
    }

    /// <summary>
    /// The site's own files name fixed addresses; the simulated washers answer on whatever ports were free. They answer in real time, however fast the
    /// washing goes: so the time-out is scaled.
    /// </summary>
    private static Site Attach(Site site, SimulationHost host, double speed) => site with
    {
        Washers = [.. site.Washers.Select(w => w with { Connection = Attach(w.Connection, Port(host, w), Math.Max(1, speed)) })],
    };

    private static ControllerConnection Attach(ControllerConnection connection, int port, double speed) => connection switch
    {
        ModbusConnection modbus => modbus with { Host = "127.0.0.1", Port = port, Timeout = modbus.Timeout * speed },
        OpcUaConnection opcUa => opcUa with { Endpoint = new Uri($"opc.tcp://127.0.0.1:{port}"), Timeout = opcUa.Timeout * speed, SessionTimeout = opcUa.SessionTimeout * speed },
        _ => throw new ArgumentOutOfRangeException(nameof(connection)),
    };

    private static int Port(SimulationHost host, WasherConfiguration washer) => host.Washers.Single(h => h.Washer.Options.Id == washer.Model.Washer).Endpoint.Port;

    private static Site? LoadSite() => SiteFile.Load(new FileInfo(Path.Combine(AppContext.BaseDirectory, "config", "demo", "site.yaml")), Console.Error);

    private static void Replace(FileInfo store)
    {
        foreach (var folder in (string[])[PkiSuffix, WebSite.KeysSuffix])
        {
            if (Directory.Exists(store.FullName + folder))
            {
                Directory.Delete(store.FullName + folder, recursive: true);
            }
        }

        foreach (var file in (string[])["", "-wal", "-shm", ".truth.jsonl"])
        {
            File.Delete(store.FullName + file);
        }
    }

    private static void Summarise(IHistorian historian, Site site, FileInfo store, Instant begun)
    {
        var report = Report.Read(historian, begun, null, site.Zone);
        Console.WriteLine();
        Console.WriteLine($"{report.Cycles.Count} cycles, {report.Kegs.Count} kegs: {report.Count(Verdict.Met)} met, {report.Count(Verdict.NotMet)} not met, {report.Count(Verdict.NotProven)} not proven.");
        var path = Path.GetRelativePath(Environment.CurrentDirectory, store.FullName);
        Console.WriteLine($"See it again: washbridge report {path}");
        Console.WriteLine($"What drifts, and what will need maintenance: washbridge analyse {path}");
    }
}
