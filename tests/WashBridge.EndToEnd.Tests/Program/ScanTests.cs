using System.Net;
using System.Net.Http.Json;
using WashBridge.Core.Cycles;
using WashBridge.Historian;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.EndToEnd.Tests.Program;

/// <summary>A hand scanner beside the running service.</summary>
public sealed class ScanTests
{
    private static CancellationToken Deadline => new CancellationTokenSource(TimeSpan.FromMinutes(1)).Token;

    [Fact]
    public async Task A_keg_scanned_before_its_cycle_ends_is_judged_under_its_own_id()
    {
        await using var demo = await ServedDemo.StartAsync(Deadline);

        using var refused = await demo.Client.PostAsJsonAsync("/scans", new { washer = "yard", station = 9, keg = "K-0042" }, Deadline);
        using var taken = await demo.Client.PostAsJsonAsync("/scans", new { washer = "yard", station = 2, keg = "K-0042" }, Deadline);

        Assert.Equal(HttpStatusCode.BadRequest, refused.StatusCode);
        Assert.Equal("station: found 9; yard has 1 to 4\n", await refused.Content.ReadAsStringAsync(Deadline));
        Assert.Equal(HttpStatusCode.Created, taken.StatusCode);
        var kegs = await JudgedAsync(demo.Store, "yard");
        Assert.Equal("K-0042", kegs.Single(k => k.Verdict.Station == 2).Verdict.KegId);
        Assert.NotEqual("K-0042", kegs.Single(k => k.Verdict.Station == 3).Verdict.KegId);
    }

    [Fact]
    public async Task Work_on_a_component_and_orders_about_alarms_reach_the_running_service_by_command_and_by_request()
    {
        await using var demo = await ServedDemo.StartAsync(Deadline);

        using var noJson = await demo.Client.PostAsync("/maintenance", new StringContent("washer=north"), Deadline);
        Assert.Equal(HttpStatusCode.UnsupportedMediaType, noJson.StatusCode);
        using var taken = await demo.Client.PostAsJsonAsync("/maintenance", new { washer = "yard", component = "spray-pump", work = "restored", by = "T. Ester" }, Deadline);
        Assert.Equal(HttpStatusCode.Created, taken.StatusCode);
        using var conflict = await demo.Client.PostAsJsonAsync("/alarm-orders", new { washer = "yard", alarm = "heater", order = "acknowledge", by = "T. Ester" }, Deadline);
        Assert.Equal(HttpStatusCode.Conflict, conflict.StatusCode);

        await using var blind = ProgramProcess.Start("maintain", demo.Store, "heater", "inspected", "--washer", "north", "--by", "T. Ester");
        Assert.Equal(3, (await blind.EndAsync(Deadline)).Exit);
        await using var seeing = ProgramProcess.Start("maintain", demo.Store, "drain-valve@1", "replaced", "--washer", "north", "--by", "T. Ester", "--site", demo.SiteFile);
        Assert.Equal(0, (await seeing.EndAsync(Deadline)).Exit);
        await using var refused = ProgramProcess.Start("alarm", demo.Store, "heater", "acknowledge", "--washer", "north", "--by", "T. Ester", "--service", $"{demo.Address}");
        Assert.Equal(1, (await refused.EndAsync(Deadline)).Exit);

        using var reader = HistorianFile.OpenReader(demo.Store);
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
}
