using System.Net;
using System.Net.Http.Json;
using System.Net.Sockets;
using WashBridge.Core.Cycles;
using WashBridge.Demo;
using WashBridge.Historian;
using WashBridge.Simulator;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Hosting;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.EndToEnd.Tests.Program;

/// <summary>A hand scanner beside the running service.</summary>
public sealed class ScanTests
{
    private static CancellationToken Deadline => new CancellationTokenSource(TimeSpan.FromMinutes(1)).Token;

    [Fact]
    public async Task A_keg_scanned_before_its_cycle_ends_is_judged_under_its_own_id()
    {
        using var folder = new TemporaryFolder();
        await using var host = await SimulationHost.StartAsync(
            [.. DemoScenario.Washers.Select(w => (new SimulatedWasher(w.Options), 0))], new ScaledTime(20, TimeProvider.System.GetUtcNow()));
        var port = FreePort();
        await using var service = ProgramProcess.Start("run", DemoSite.Write(folder, host, port));
        await DemoSite.GrownAsync(DemoSite.Store(folder), 1, Deadline);
        using var scanner = new HttpClient { BaseAddress = new Uri($"http://127.0.0.1:{port}") };

        using var refused = await scanner.PostAsJsonAsync("/scans", new { washer = "yard", station = 9, keg = "K-0042" }, Deadline);
        using var taken = await scanner.PostAsJsonAsync("/scans", new { washer = "yard", station = 2, keg = "K-0042" }, Deadline);

        Assert.Equal(HttpStatusCode.BadRequest, refused.StatusCode);
        Assert.Equal("station: found 9; yard has 1 to 4\n", await refused.Content.ReadAsStringAsync(Deadline));
        Assert.Equal(HttpStatusCode.Created, taken.StatusCode);
        var kegs = await JudgedAsync(DemoSite.Store(folder), "yard");
        Assert.Equal("K-0042", kegs.Single(k => k.Verdict.Station == 2).Verdict.KegId);
        Assert.NotEqual("K-0042", kegs.Single(k => k.Verdict.Station == 3).Verdict.KegId);
    }

    /// <summary>The verdicts of the first cycle that ends.</summary>
    private static async Task<IReadOnlyList<KegJudged>> JudgedAsync(string store, string washer)
    {
        var deadline = Deadline;
        using var reader = HistorianFile.OpenReader(store);
        using var look = new PeriodicTimer(TimeSpan.FromMilliseconds(100));
        while (await look.WaitForNextTickAsync(deadline))
        {
            var kegs = reader.ReadEvents(new EventQuery { Washer = washer, Kinds = ["keg-judged"] }).OfType<KegJudged>().ToList();
            if (kegs.Count > 0)
            {
                return [.. kegs.Where(k => k.CycleId == kegs[0].CycleId)];
            }
        }

        return [];
    }

    private static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }
}
