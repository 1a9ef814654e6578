using System.Net;
using System.Net.Http.Json;
using WashBridge.Benchmarks.Influx;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Demo;
using WashBridge.Historian;
using WashBridge.Simulator;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Hosting;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.EndToEnd.Tests.Program;

/// <summary>Two bridges read the same simulated washers, keep one log and send to one InfluxDB. One is killed while it reads, and comes back.</summary>
public sealed class PairTests
{
    private const double Hurry = 20;

    private static readonly IReadOnlyList<(string Measurement, Type Type)> Measured =
    [
        ("wash_cycle_start", typeof(CycleStarted)), ("wash_step_start", typeof(StepStarted)), ("wash_step", typeof(StepEnded)), ("wash_drain", typeof(DrainMeasured)),
        ("wash_cycle", typeof(CycleEnded)), ("wash_keg", typeof(KegJudged)), ("wash_measured", typeof(CycleMeasured)), ("wash_scan", typeof(KegScanned)), ("wash_clock", typeof(ClockStepped)),
    ];

    private static CancellationToken Deadline => new CancellationTokenSource(TimeSpan.FromMinutes(4)).Token;

    [Fact]
    public async Task Both_hold_the_same_events_and_InfluxDB_each_once_though_the_one_that_reads_is_killed_and_comes_back()
    {
        using var folder = new TemporaryFolder();
        await using var host = await SimulationHost.StartAsync([.. DemoScenario.Washers.Select(w => (new SimulatedWasher(w.Options with { Faults = [] }), 0))], new ScaledTime(Hurry, TimeProvider.System.GetUtcNow()));
        await using var influx = await InfluxServer.StartAsync(Deadline);
        await influx.CreateDatabaseAsync("plant", Deadline);
        using var north = new Half();
        using var south = new Half();
        north.Write(host, influx, south, isFirst: true);
        south.Write(host, influx, north, isFirst: false);
        using var client = new HttpClient();

        await using (var first = ProgramProcess.Start("run", north.Site))
        {
            await DemoSite.ListensAsync(north.Port, Deadline);
            await using var second = ProgramProcess.Start("run", south.Site);
            await south.CyclesAsync(2, Deadline);
            Assert.Equal(HttpStatusCode.Conflict, await ScanAsync(client, south, "K-1"));
            Assert.Equal(HttpStatusCode.Created, await ScanAsync(client, north, "K-1"));
            Assert.Equal(HttpStatusCode.OK, (await client.GetAsync(new Uri(north.Address, "/health/reading"), Deadline)).StatusCode);
            Assert.Equal(HttpStatusCode.ServiceUnavailable, (await client.GetAsync(new Uri(south.Address, "/health/reading"), Deadline)).StatusCode);

            var (_, said, _) = await ProgramProcess.RunAsync(Deadline, "check", south.Site);
            Assert.Contains("answers and reads; its clock is ", said);

            await first.KillAsync();
            await south.CyclesAsync(south.Cycles + 2, Deadline);
            Assert.Equal(HttpStatusCode.Created, await ScanAsync(client, south, "K-2"));

            await using var again = ProgramProcess.Start("run", north.Site);
            await north.CyclesAsync(south.Cycles + 2, Deadline);
            Assert.Equal(HttpStatusCode.Conflict, await ScanAsync(client, north, "K-3"));
            again.Interrupt();
            Assert.Equal(0, (await again.EndAsync(Deadline)).Exit);
            second.Interrupt();
            Assert.Equal(0, (await second.EndAsync(Deadline)).Exit);
        }

        // The one that stopped later has what came later.
        var (fewer, all) = (north.Events(), south.Events());
        Assert.Empty(fewer.Keys.Except(all.Keys));
        Assert.All(fewer, e => Assert.Equal(all[e.Key], e.Value));
        Assert.Contains(fewer.Values, e => e.Contains("K-1"));
        Assert.Contains(fewer.Values, e => e.Contains("K-2"));
        var last = fewer.Values.Max(j => WashJson.ReadEvent(j).At.Latest);
        Assert.DoesNotContain(all.Values.Select(WashJson.ReadEvent), e => e.At.Latest < last && !fewer.ContainsKey(e.Id));

        // The controllers count: none was missed, and nothing of any was hidden while the reading changed hands.
        foreach (var washer in all.Values.Select(WashJson.ReadEvent).OfType<CycleEnded>().GroupBy(c => c.Washer))
        {
            var counts = washer.Select(c => c.Cycle.CycleCount!.Value).Order().ToList();
            Assert.Equal(Enumerable.Range(0, counts.Count).Select(i => counts[0] + i), counts);
            Assert.All(washer, c => Assert.Empty(c.Cycle.Gaps));
        }

        foreach (var (measurement, type) in Measured)
        {
            var sent = (await influx.RowsAsync("plant", $"SELECT id FROM {measurement}", Deadline)).Select(r => r["id"].GetString()!).ToList();
            Assert.Equal(sent.Distinct(StringComparer.Ordinal).Count(), sent.Count);
            Assert.Empty(sent.Except(all.Keys));
            Assert.Empty(south.Delivered().Where(e => e.GetType() == type).Select(e => e.Id).Except(sent));
            Assert.NotEmpty(sent);
        }
    }

    private static async Task<HttpStatusCode> ScanAsync(HttpClient client, Half half, string keg)
    {
        using var answer = await client.PostAsJsonAsync(new Uri(half.Address, "/scans"), new { washer = "yard", station = 1, keg }, Deadline);
        return answer.StatusCode;
    }

    private sealed class Half : IDisposable
    {
        private readonly TemporaryFolder _folder = new();

        public int Port { get; } = DemoPages.Choose(0);

        public Uri Address => new($"http://127.0.0.1:{Port}");

        public string Site { get; private set; } = "";

        public int Cycles => Events().Values.Count(e => WashJson.ReadEvent(e) is CycleEnded);

        private string Store => DemoSite.Store(_folder);

        public void Write(SimulationHost host, InfluxServer influx, Half other, bool isFirst)
        {
            Site = DemoSite.Write(_folder, host, Port);
            File.AppendAllText(Site, $$"""
                influx:
                  - {id: plant, url: "{{influx.Url}}", api: 1, bucket: plant}
                pair:
                  partner: {{other.Address.GetLeftPart(UriPartial.Authority)}}
                  first: {{(isFirst ? "true" : "false")}}
                  take-over-after: 4 s

                """);
        }

        public void Dispose() => _folder.Dispose();

        /// <summary>Waits until so many cycles are in its log.</summary>
        public async Task CyclesAsync(int count, CancellationToken deadline)
        {
            using var look = new PeriodicTimer(TimeSpan.FromMilliseconds(200));
            while (!File.Exists(Store) || Cycles < count)
            {
                await look.WaitForNextTickAsync(deadline);
            }
        }

        /// <summary>Every event's JSON by its id, without the mere passing of time.</summary>
        public Dictionary<string, string> Events()
        {
            using var historian = HistorianFile.OpenReader(Store);
            return historian.ReadEvents(new EventQuery()).Where(e => e is not TimePassed).ToDictionary(e => e.Id, WashJson.Write);
        }

        /// <summary>What it has told InfluxDB; what came in its last moment it tells after its next start.</summary>
        public IReadOnlyList<WashEvent> Delivered()
        {
            using var historian = HistorianFile.OpenReader(Store);
            var reached = historian.ReadFollower("influx/plant")!.Sequence;
            return [.. historian.ReadLog(0, int.MaxValue, LogContent.Events).Where(e => e.Sequence <= reached).Select(e => e.Event!)];
        }
    }
}
