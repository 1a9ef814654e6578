using WashBridge.Benchmarks.Influx;
using WashBridge.Demo;
using WashBridge.Historian;
using WashBridge.Simulator;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Hosting;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.EndToEnd.Tests.Program;

/// <summary>A server that comes later, or loses what it had, gets it from the historian while the service goes on.</summary>
public sealed class ForwardTests
{
    private static CancellationToken Deadline => new CancellationTokenSource(TimeSpan.FromMinutes(2)).Token;

    [Fact]
    public async Task A_period_is_sent_beside_the_running_service_and_sending_it_twice_changes_nothing()
    {
        using var folder = new TemporaryFolder();
        await using var host = await SimulationHost.StartAsync([.. DemoScenario.Washers.Select(w => (new SimulatedWasher(w.Options), 0))], new ScaledTime(20, TimeProvider.System.GetUtcNow()));
        await using var server = await InfluxServer.StartAsync(Deadline);
        var site = DemoSite.Write(folder, host);
        await using var service = ProgramProcess.Start("run", site);
        await DemoSite.GrownAsync(DemoSite.Store(folder), 300, Deadline);
        await File.AppendAllTextAsync(site, $"influx:\n  - {{id: plant, url: \"{server.Url}\", api: 1, bucket: plant}}\n", Deadline);

        var (exit, _, errors) = await ForwardAsync(site);
        Assert.Equal(4, exit);
        Assert.Contains("database not found", errors, StringComparison.Ordinal);
        await server.CreateDatabaseAsync("plant", Deadline);
        var held = Steps(folder);
        var (first, told, _) = await ForwardAsync(site);
        Assert.Equal(0, first);
        Assert.Contains("plant has ", told, StringComparison.Ordinal);

        // The service goes on meanwhile: all that was held before is there, and nothing that is not held after.
        var ids = await IdsAsync(server);
        Assert.NotEmpty(held);
        Assert.Empty(held.Except(ids));
        Assert.Empty(ids.Except(Steps(folder)));

        Assert.Equal(0, (await ForwardAsync(site)).Exit);
        var again = await IdsAsync(server);
        Assert.Empty(ids.Except(again));
        Assert.Equal(again.Distinct(), again);

        var (unknown, _, why) = await ForwardAsync(site, "--to", "other");
        Assert.Equal((1, "--to: found 'other'; allowed: plant"), (unknown, why.Trim()));
    }

    private static async Task<(int Exit, string Output, string Errors)> ForwardAsync(params string[] arguments)
    {
        await using var command = ProgramProcess.Start(["forward", .. arguments]);
        return await command.EndAsync(Deadline);
    }

    private static IReadOnlyList<string> Steps(TemporaryFolder folder)
    {
        using var historian = HistorianFile.OpenReader(DemoSite.Store(folder));
        return [.. historian.ReadEvents(new EventQuery { Kinds = ["step-started"] }).Select(e => e.Id)];
    }

    private static async Task<IReadOnlyList<string>> IdsAsync(InfluxServer server) =>
        [.. (await server.RowsAsync("plant", "SELECT id FROM wash_step_start", Deadline)).Select(r => r["id"].GetString()!).Order(StringComparer.Ordinal)];
}
