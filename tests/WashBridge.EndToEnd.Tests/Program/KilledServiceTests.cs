using WashBridge.Configuration;
using WashBridge.Core;
using WashBridge.Demo;
using WashBridge.Historian;
using WashBridge.Simulator;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Hosting;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.EndToEnd.Tests.Program;

/// <summary>
/// The service is killed again and again while washers run, and started again. The washers are simulated and hurried, so that cycles fit into a test;
/// their recipes are then not met, which is of no concern here.
/// </summary>
public sealed class KilledServiceTests
{
    private const int Kills = 5;
    private const double Hurry = 20;

    private static CancellationToken Deadline => new CancellationTokenSource(TimeSpan.FromMinutes(2)).Token;

    [Fact]
    public async Task However_often_it_is_killed_the_events_are_those_that_the_log_gives_in_one_go()
    {
        using var folder = new TemporaryFolder();
        await using var host = await SimulationHost.StartAsync(
            [.. DemoScenario.Washers.Select(w => (new SimulatedWasher(w.Options), 0))], new ScaledTime(Hurry, TimeProvider.System.GetUtcNow()));
        var siteFile = DemoSite.Write(folder, host);
        var store = DemoSite.Store(folder);
        var random = new Random(7);

        for (var kill = 0; kill < Kills; kill++)
        {
            await using var service = ProgramProcess.Start("run", siteFile);
            await DemoSite.GrownAsync(store, random.Next(20, 60), Deadline);
            await service.KillAsync();
        }

        await using (var service = ProgramProcess.Start("run", siteFile))
        {
            await DemoSite.GrownAsync(store, 40, Deadline);
            service.Interrupt();
            Assert.Equal(0, (await service.EndAsync(Deadline)).Exit);
        }

        Assert.Equal(Refolded(folder, store, siteFile), Events(store));
    }

    /// <summary>Folds a copy of the log, without any of the events and states that the service left, in one go.</summary>
    private static List<string> Refolded(TemporaryFolder folder, string store, string siteFile)
    {
        using var source = HistorianFile.OpenReader(store);
        using var copy = HistorianFile.Open(folder["copy.washdb"], new HistorianOptions(), TimeProvider.System);
        Commands.ReplayCommand.Copy(source, copy, null, Deadline);
        Commands.ReplayCommand.Analyse(ConfigurationLoader.Load(siteFile).Site!, copy, null);
        return [.. copy.ReadEvents(new EventQuery()).Select(WashJson.Write).Order(StringComparer.Ordinal)];
    }

    private static List<string> Events(string store)
    {
        using var historian = HistorianFile.OpenReader(store);
        var events = historian.ReadEvents(new EventQuery());
        Assert.Contains(events, e => e is Core.Cycles.CycleEnded);
        return [.. events.Select(WashJson.Write).Order(StringComparer.Ordinal)];
    }
}
