using WashBridge.Checking;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Simulator;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Polling;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Checking;

/// <summary>What a map is said to let be judged and measured, held against what the program then judges and measures.</summary>
public sealed class MapReachTests
{
    private static readonly Site Site = ConfigurationLoader.Load(Path.Combine(Repository.Root, "config/demo/site.yaml")).Site!;

    /// <summary>Found in other ways than by the signals: a recipe must ask for it, the kegs bring it, or a flow meter takes its place.</summary>
    private static readonly string[] NotByTags = ["temperature-above", "spray-time", "spray-flow", "heat-up-rate", "dosing-response", "dosing-rest", "energy-per-keg", "chemical-per-keg", "heater-time", "dosing-time"];

    [Theory]
    [InlineData(0)]
    [InlineData(1)]
    public void Figures_that_are_measured_are_those_that_were_promised(int washer)
    {
        var configuration = Site.Washers[washer];
        var promised = new MapReach(configuration).Figures.Where(f => f.IsReached).Select(f => f.Family).ToHashSet(StringComparer.Ordinal);
        var measured = Measure(washer, configuration).ToHashSet(StringComparer.Ordinal);
        Assert.True(measured.Count > 10, $"{measured.Count} families");
        Assert.Empty(measured.Except(promised).Except(NotByTags));

        // What waits for a heater or a dosing pump to run may not come in so few cycles.
        Assert.Empty(promised.Except(measured).Except(NotByTags));
    }

    [Fact]
    public void Every_family_that_is_named_is_one_of_the_catalogue()
    {
        Assert.All(Site.Washers.SelectMany(w => FigureNeeds.Of(w.Model)), f => Assert.NotNull(FeatureCatalogue.Find(f.Family)));
    }

    [Fact]
    public void A_sensor_that_serves_all_stations_tells_of_no_stations_valve()
    {
        var yard = new MapReach(Site.Washers[1]);
        Assert.Equal([false, false, false, false], yard.Parts.Where(p => p.Component.Key.StartsWith("drain-valve@", StringComparison.Ordinal)).Select(p => p.IsReached));
        Assert.True(yard.Parts.Single(p => p.Component.Key == "drain-sensor").IsReached);
        Assert.Equal(CoverageExtent.Partly, yard.Recipes[0].Requirements.Single(r => r.Requirement == "drains").Extent);
        Assert.All(new MapReach(Site.Washers[0]).Parts, p => Assert.True(p.IsReached, p.Component.Key));
    }

    [Fact]
    public void A_map_that_lacks_one_stations_signal_is_judged_at_the_others_and_the_tag_says_what_it_would_bring()
    {
        var north = Without(Site.Washers[0], s => s is { Name: "drain.dry", Station: 2 });
        var reach = new MapReach(north);
        var drains = reach.Recipes[0].Requirements.Single(r => r.Requirement == "drains");
        Assert.Equal((false, CoverageExtent.Partly), (drains.CanJudge, drains.Extent));
        var missing = Assert.Single(reach.Missing);
        Assert.Equal("drain.dry of station 2", missing.Signal);
        Assert.Equal(["drains"], missing.Requirements);
        Assert.Equal(["drain-valve@2", "drain-sensor@2"], missing.Forecasts);
        Assert.Contains("drain-time", missing.Figures);
    }

    [Fact]
    public void A_map_without_the_signal_anywhere_lets_nobody_judge()
    {
        var reach = new MapReach(Without(Site.Washers[0], s => s.Name == "drain.dry"));
        Assert.Equal(CoverageExtent.None, reach.Recipes[0].Requirements.Single(r => r.Requirement == "drains").Extent);
        Assert.Equal("drain.dry", reach.Missing[0].Signal);
    }

    private static WasherConfiguration Without(WasherConfiguration washer, Func<Signal, bool> left) => washer with
    {
        Model = washer.Model with { Signals = [.. washer.Model.Signals.Where(s => !left(s))] },
        Tags = [.. washer.Tags.Where(t => !left(t.Signal))],
    };

    private static IEnumerable<string> Measure(int washer, WasherConfiguration configuration)
    {
        using var folder = new TemporaryFolder();
        using var historian = HistorianFile.Open(folder["reach.washdb"], new HistorianOptions(), TimeProvider.System);
        var poller = new VirtualPoller(new SimulatedWasher(DemoScenario.Washers[washer].Options with { Faults = [] }), new PollerOptions { Start = Instant.Parse("2031-03-05T08:00:00Z") });
        historian.AppendFrames([.. poller.PollUntil(TimeSpan.FromMinutes(20))]);
        new Analyst(historian, [configuration]).CatchUp();
        return historian.ReadEvents(new EventQuery { Kinds = ["cycle-measured"] }).OfType<CycleMeasured>().SelectMany(m => m.Features.Figures).Select(f => f.Family).Distinct(StringComparer.Ordinal).ToList();
    }
}
