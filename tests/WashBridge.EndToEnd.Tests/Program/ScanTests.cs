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
        await DemoSite.ListensAsync(port, Deadline);
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

    [Fact]
    public async Task Work_on_a_component_and_orders_about_alarms_reach_the_running_service_by_command_and_by_request()
    {
        using var folder = new TemporaryFolder();
        await using var host = await SimulationHost.StartAsync(
            [.. DemoScenario.Washers.Select(w => (new SimulatedWasher(w.Options), 0))], new ScaledTime(20, TimeProvider.System.GetUtcNow()));
        var port = FreePort();
        var siteFile = DemoSite.Write(folder, host, port);
        var store = DemoSite.Store(folder);
        await using var service = ProgramProcess.Start("run", siteFile);
        await DemoSite.GrownAsync(store, 1, Deadline);
        await DemoSite.ListensAsync(port, Deadline);
        using var person = new HttpClient { BaseAddress = new Uri($"http://127.0.0.1:{port}") };

        using var noJson = await person.PostAsync("/maintenance", new StringContent("washer=north"), Deadline);
        Assert.Equal(HttpStatusCode.UnsupportedMediaType, noJson.StatusCode);
        using var taken = await person.PostAsJsonAsync("/maintenance", new { washer = "yard", component = "spray-pump", work = "restored", by = "T. Ester" }, Deadline);
        Assert.Equal(HttpStatusCode.Created, taken.StatusCode);
        using var conflict = await person.PostAsJsonAsync("/alarm-orders", new { washer = "yard", alarm = "heater", order = "acknowledge", by = "T. Ester" }, Deadline);
        Assert.Equal(HttpStatusCode.Conflict, conflict.StatusCode);

        await using var blind = ProgramProcess.Start("maintain", store, "heater", "inspected", "--washer", "north", "--by", "T. Ester");
        Assert.Equal(3, (await blind.EndAsync(Deadline)).Exit);
        await using var seeing = ProgramProcess.Start("maintain", store, "drain-valve@1", "replaced", "--washer", "north", "--by", "T. Ester", "--site", siteFile);
        Assert.Equal(0, (await seeing.EndAsync(Deadline)).Exit);
        await using var refused = ProgramProcess.Start("alarm", store, "heater", "acknowledge", "--washer", "north", "--by", "T. Ester", "--service", $"http://127.0.0.1:{port}");
        Assert.Equal(1, (await refused.EndAsync(Deadline)).Exit);

        using var reader = HistorianFile.OpenReader(store);
        Assert.Equal(["spray-pump", "drain-valve@1"], reader.ReadEvents(new EventQuery { Kinds = ["maintenance-recorded"] }).OfType<MaintenanceRecorded>().Select(m => m.Component.Key));
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
