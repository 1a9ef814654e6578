using System.Diagnostics;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Benchmarks.Analysis;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Drift;
using WashBridge.Core.Features;
using WashBridge.Core.Recipes;
using WashBridge.Core.Time;
using WashBridge.Demo;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Simulator;
using WashBridge.Simulator.Polling;

namespace WashBridge.Benchmarks;

/// <summary>What the pages of a large site weigh and take that told everything of every washer: washers of eight stations with all figures of three cycles, and a drift at every tenth.</summary>
internal sealed class PageLargeSiteBench : IBench
{
    private const int Loads = 7;
    private const int Cycles = 3;
    private static readonly Instant Now = Instant.Parse("2031-03-05T12:00:00Z");

    public string Name => "page-large-site";

    public string What => "bytes and time of the setup check and the page of drifts where there are many washers [washers, 250 by default]";

    public async Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var washers = arguments.Length > 0 ? int.Parse(arguments[0]) : 250;
        var folder = Directory.CreateTempSubdirectory("page-large-site");
        try
        {
            var demo = ConfigurationLoader.Load(Path.Combine(AppContext.BaseDirectory, "config", "demo", "site.yaml")).Site!;
            var site = demo with
            {
                Store = demo.Store with { Path = Path.Combine(folder.FullName, "a.washdb") },
                Washers = [.. Enumerable.Range(0, washers).Select(n => LivePageBench.Washer(demo.Washers[0], $"w{n}"))],
                Http = new HttpConfiguration(DemoPages.Choose(0)),
            };
            using var historian = Historian.Historian.Open(site.Store.Path, new HistorianOptions(), TimeProvider.System);
            var measured = Measured(demo.Washers[0].Recipe);
            foreach (var (number, washer) in site.Washers.Index())
            {
                historian.AppendEvents([.. measured.Select(m => m with { Id = $"{washer.Model.Washer}/{m.CycleId}", Washer = washer.Model.Washer }), .. number % 10 == 0 ? [Drift(washer.Model.Washer)] : Array.Empty<WashEvent>()]);
            }

            var signal = new HistorianSignal();
            var time = new Clock();
            using var host = DemoPages.Make(site, historian, signal, new Bridge(site, historian, signal, [], time, NullLoggerFactory.Instance, bootId: null), time);
            await host.StartAsync(cancellation);
            using var client = new HttpClient { BaseAddress = new Uri($"http://localhost:{site.Http.Port}") };
            Console.WriteLine($"{washers} washers, {measured[0].Features.Figures.Count} figures a cycle");
            foreach (var page in new[] { "/setup", "/setup?washer=w0", "/drift", "/drift?washer=w0" })
            {
                await MeasureAsync(client, page, cancellation);
            }

            await host.StopAsync(cancellation);
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    private static async Task MeasureAsync(HttpClient client, string page, CancellationToken cancellation)
    {
        var (times, bytes) = (new List<double>(), 0);
        for (var i = 0; i < Loads; i++)
        {
            var watch = Stopwatch.StartNew();
            bytes = (await client.GetByteArrayAsync(page, cancellation)).Length;
            times.Add(watch.Elapsed.TotalMilliseconds);
        }

        var first = times[0];
        times.Sort();
        Console.WriteLine($"{page,-20} {bytes / 1024.0,8:0.0} KiB, first {first,6:0} ms, median {times[Loads / 2],6:0} ms of {Loads}");
    }

    private static List<CycleMeasured> Measured(Recipe recipe)
    {
        var washer = new SimulatedWasher(new WasherOptions { Id = "bench", Stations = 8 });
        var deadBands = washer.Map.ToDictionary(m => m.Signal, m => m.DeadBand);
        return
        [
            .. FeaturesBench.Cycles(washer, new PollerOptions()).Take(Cycles).Select((c, n) => new CycleMeasured
            {
                Id = "", Washer = "", CycleId = $"c{n}", At = TimeBounds.At(Now - TimeSpan.FromMinutes(5 * (Cycles - n))), Features = FeatureExtractor.Of(c.Cycle, c.Frames, recipe, [], c.Previous, s => deadBands[s]),
            }),
        ];
    }

    private static DriftFound Drift(string washer) => new()
    {
        Id = $"{washer}/drift", Washer = washer, CycleId = "c0", At = TimeBounds.At(Now - TimeSpan.FromMinutes(10)),
        Finding = new DriftFinding
        {
            Feature = "drain-index@2", Chart = ChartKind.Cusum, Unit = "", Centre = 1, Spread = 0.01, ReferenceCycles = 100, Size = 0.5, SizeUncertainty = 0.02,
            Onset = new CycleSpan("c0", Now - TimeSpan.FromMinutes(15), Now - TimeSpan.FromMinutes(20), Now - TimeSpan.FromMinutes(10)), CyclesTouched = 1, Kegs = ["K1"], KegCount = 1, FalseAlarmEvery = 10_000,
        },
    };

    private sealed class Clock : TimeProvider
    {
        public override DateTimeOffset GetUtcNow() => Now.ToDateTimeOffset();
    }
}
