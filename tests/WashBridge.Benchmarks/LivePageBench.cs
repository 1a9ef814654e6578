using System.Diagnostics;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Configuration;
using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Demo;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Web.Live;

namespace WashBridge.Benchmarks;

/// <summary>
/// Twenty washers of eight stations on the page that is asked for at every beat, by one viewer: processor time and memory for a refresh and for following the log
/// meanwhile, and whether anything grows. Server, viewer and log run in this process, so that all of them are in the figures.
/// </summary>
internal sealed class LivePageBench : IBench
{
    private const int Washers = 20;
    private const int Stations = 8;

    /// <summary>By three groups: ten times, twice and once a second.</summary>
    private const int FramesABeat = 13;
    private static readonly Instant Begin = Instant.Parse("2031-03-05T08:00:00Z");

    public string Name => "live-page";

    public string What => "20 washers, 8 stations, one viewer: what a refresh of the pages now and wall costs, and what grows [refreshes, 1,000 by default]";

    public async Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var refreshes = arguments.Length > 0 ? int.Parse(arguments[0]) : 1000;
        var folder = Directory.CreateTempSubdirectory("washbridge-bench-").FullName;
        try
        {
            foreach (var page in new[] { "/", "/wall" })
            {
                await MeasureAsync(folder, page, refreshes, cancellation);
            }
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static async Task MeasureAsync(string folder, string page, int refreshes, CancellationToken cancellation)
    {
        var demo = ConfigurationLoader.Load(Path.Combine(AppContext.BaseDirectory, "config", "demo", "site.yaml")).Site!;
        var port = DemoPages.Choose(0);
        var site = demo with { Store = demo.Store with { Path = Path.Combine(folder, $"bench{page.Length}.washdb") }, Washers = [.. Enumerable.Range(0, Washers).Select(n => Washer(demo.Washers[0], $"w{n}"))], Http = new HttpConfiguration(port) { Rates = new RequestRates(1_000_000, 1_000_000, 1_000_000) } };
        using var historian = Historian.Historian.Open(site.Store.Path, new HistorianOptions(), TimeProvider.System);
        var time = new Clock();
        var signal = new HistorianSignal();
        var bridge = new Bridge(site, historian, signal, [], time, NullLoggerFactory.Instance, bootId: null);
        historian.AppendEvents([.. site.Washers.SelectMany((w, n) => Events(w, n))]);
        using var host = DemoPages.Make(site, historian, signal, bridge, time);
        await host.StartAsync(cancellation);
        var board = host.Services.GetRequiredService<LiveBoard>();
        using var client = new HttpClient { BaseAddress = new Uri($"http://127.0.0.1:{port}") };
        var beat = 0;
        var length = 0L;
        await Beats(200);
        var (before, held) = (Process.GetCurrentProcess().TotalProcessorTime, Held());
        var allocated = GC.GetTotalAllocatedBytes(precise: true);
        await Beats(refreshes);
        var spent = (Process.GetCurrentProcess().TotalProcessorTime - before) / refreshes;
        var each = (GC.GetTotalAllocatedBytes(precise: true) - allocated) / refreshes;
        var growth = Held() - held;
        Console.WriteLine($"{page}: {length / 1024.0:0} kB; {spent.TotalMilliseconds:0.0} ms of processor time a beat = {spent.TotalSeconds:P1} of one core at one a second (bar 10 %), "
            + $"{each / 1024.0:0} kB allocated a beat; {growth / 1024.0:+0;-0} kB held more after {refreshes} beats");
        await host.StopAsync(cancellation);

        // One second of the site's time: what came in is committed and followed, then the viewer asks.
        async Task Beats(int count)
        {
            for (var i = 0; i < count; i++)
            {
                time.Now = Begin + TimeSpan.FromSeconds(++beat);
                signal.Publish(historian.AppendFrames([.. site.Washers.SelectMany(w => Frames(w, time.Now))]));
                board.CatchUp();
                var text = await client.GetByteArrayAsync(page, cancellation);
                length = text.Length;
            }
        }
    }

    private static long Held()
    {
        GC.Collect();
        GC.WaitForPendingFinalizers();
        return GC.GetTotalMemory(forceFullCollection: true);
    }

    internal static WasherConfiguration Washer(WasherConfiguration like, string id) => like with
    {
        Title = $"Hall {id}, eight stations",
        Model = like.Model with { Washer = id, Stations = Stations, Signals = [.. like.Model.Signals.Select(s => s with { Washer = id })] },
        Tags = [.. like.Tags.Select(t => t with { Signal = t.Signal with { Washer = id } })],
    };

    private static IEnumerable<WashEvent> Events(WasherConfiguration washer, int number)
    {
        var id = washer.Model.Washer;
        var at = TimeBounds.At(Begin);
        var moment = new Moment(Begin, Begin, 0);
        var edge = new Edge(moment, moment);
        yield return new CycleStarted { Id = $"{id}/s", Washer = id, CycleId = $"{id}-c", At = at, Edge = edge };
        yield return new StepStarted { Id = $"{id}/a", Washer = id, CycleId = $"{id}-c", At = at, Phase = "sanitise", PhaseKind = PhaseKind.Sanitise, Pass = 1, Step = StepKind.WallSpray, Edge = edge };
        yield return new StepStarted { Id = $"{id}/h", Washer = id, CycleId = $"{id}-c", At = at, Phase = "sanitise", PhaseKind = PhaseKind.Sanitise, Pass = 1, Step = StepKind.Hold, Edge = edge };
        for (var station = 1; station <= Stations; station++)
        {
            var verdict = (Verdict)((station + number) % 3);
            yield return new KegScanned { Id = $"{id}/k{station}", Washer = id, At = TimeBounds.At(Begin + TimeSpan.FromSeconds(1)), Station = station, KegId = $"K-{number}{station}" };
            yield return new KegJudged
            {
                Id = $"{id}/j{station}", Washer = id, CycleId = $"{id}-b", At = at,
                Verdict = new KegVerdict
                {
                    KegId = $"K{number}{station}", KegIdSource = KegIdSource.Scan, CycleId = $"{id}-b", Washer = id, Station = station, Recipe = "full-wash", RecipeVersion = 1, Rule = DecisionRule.Bounds, Verdict = verdict,
                    Results = [.. washer.Recipe.Requirements.Select(r => new RequirementResult { Requirement = r.Id, Verdict = verdict, Evidence = "Hold in sanitise (pass 1) lasted 20.9 to 21.4 s; at least 34 s is asked: not met." })],
                },
            };
            yield return new DrainMeasured { Id = $"{id}/d{station}", Washer = id, CycleId = $"{id}-c", At = at, Station = station, Drain = new DrainRecord("rinse", 1, edge, edge, new DurationBounds(TimeSpan.FromSeconds(8), TimeSpan.FromSeconds(8.4)), false) };
        }

        yield return new AlarmChanged
        {
            Id = $"{id}/alarm", Washer = id, At = at, Alarm = "drain-valve@2", From = AlarmState.Normal, To = AlarmState.Unacknowledged, Priority = (AlarmPriority)(number % 3), Since = Begin,
            Text = new AlarmText { What = $"{id}: drain valve of station 2 is wearing. When this alarm came, it had about 106 cycles left.", Kegs = "Kegs drain slowly.", LookAt = "Strainer and seat." },
        };
    }

    private static IEnumerable<Frame> Frames(WasherConfiguration washer, Instant now)
    {
        for (var i = 0; i < FramesABeat; i++)
        {
            var group = i < 10 ? 0 : i < 12 ? 1 : 2;
            var at = TimeBounds.At(now - TimeSpan.FromMilliseconds(1000 - (i * 75)));
            yield return new Frame
            {
                Washer = washer.Model.Washer, Group = group, Kind = FrameKind.Changes, Read = at,
                Samples = group == 0 ? [] : [.. washer.Model.Signals.Where(s => s.Type == SignalType.Quantity).Take(15).Select(s => new Sample(s, new SignalValue(50 + (i * 0.1)), Quality.Good, at))],
            };
        }
    }

    private sealed class Clock : TimeProvider
    {
        public Instant Now { get; set; } = Begin;

        public override DateTimeOffset GetUtcNow() => Now.ToDateTimeOffset();
    }
}
