using System.Text.Json;
using WashBridge.Benchmarks.Influx;
using WashBridge.Demo;
using WashBridge.Simulator;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Hosting;

namespace WashBridge.EndToEnd.Tests.Program;

/// <summary>The service, told in its site file of a real InfluxDB, sends events there and how it stands itself.</summary>
public sealed class InfluxServiceTests
{
    private static CancellationToken Deadline => new CancellationTokenSource(TimeSpan.FromMinutes(2)).Token;

    [Fact]
    public async Task The_running_service_sends_events_and_tells_how_it_stands()
    {
        using var folder = new TemporaryFolder();
        await using var host = await SimulationHost.StartAsync([.. DemoScenario.Washers.Select(w => (new SimulatedWasher(w.Options), 0))], new ScaledTime(20, TimeProvider.System.GetUtcNow()));
        await using var server = await InfluxServer.StartAsync(Deadline);
        await server.CreateDatabaseAsync("plant", Deadline);
        var site = DemoSite.Write(folder, host);
        await File.AppendAllTextAsync(site, $"influx:\n  - {{id: plant, url: \"{server.Url}\", api: 1, bucket: plant}}\n", Deadline);
        await using var service = ProgramProcess.Start("run", site);

        var steps = await RowsAsync(server, "SELECT * FROM wash_step_start");
        Assert.Equal("millrace", steps[0]["site"].GetString());
        var bridge = (await RowsAsync(server, "SELECT * FROM wash_bridge"))[0];
        Assert.True(bridge["store_bytes"].GetInt64() > 0 && bridge["disk_free_bytes"].GetInt64() > 0 && bridge["disk_bytes"].GetInt64() >= bridge["disk_free_bytes"].GetInt64());
        Assert.Equal(["analysis", "analyst", "influx/plant"], (await RowsAsync(server, "SELECT * FROM wash_follower")).Select(r => r["follower"].GetString()).Distinct().Order(StringComparer.Ordinal));
        Assert.Equal(["north", "yard"], (await RowsAsync(server, "SELECT * FROM wash_read")).Select(r => r["washer"].GetString()).Distinct().Order(StringComparer.Ordinal));
    }

    private static async Task<IReadOnlyList<IReadOnlyDictionary<string, JsonElement>>> RowsAsync(InfluxServer server, string query)
    {
        var deadline = Deadline;
        using var look = new PeriodicTimer(TimeSpan.FromMilliseconds(100));
        while (await look.WaitForNextTickAsync(deadline))
        {
            if (await server.RowsOrNoneAsync("plant", query, deadline) is { Count: > 0 } rows)
            {
                return rows;
            }
        }

        throw new InvalidOperationException($"no rows in time: {query}");
    }
}
