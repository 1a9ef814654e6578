using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Verdicts;
using WashBridge.Simulator;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Polling;

namespace WashBridge.Tests.Configuration;

/// <summary>With the shipped configuration the demonstration shows what it is meant to show: polled as the files say, judged by the recipes they name.</summary>
public sealed class DemoVerdictTests
{
    [Fact]
    public void The_north_hall_shows_good_kegs_and_one_that_missed_its_dwell()
    {
        var cycles = Judge("north", TimeSpan.FromMinutes(10));
        Assert.Equal([(1, Verdict.Met), (2, Verdict.Met)], cycles[0].Select(v => (v.Station, v.Verdict)));
        var missed = Assert.Single(cycles[1]);
        Assert.Equal(["sanitiser-hold", "sanitiser-contact"], missed.Results.Where(r => r.Verdict == Verdict.NotMet).Select(r => r.Requirement));
        Assert.Equal([(1, Verdict.Met), (2, Verdict.Met)], cycles[2].Select(v => (v.Station, v.Verdict)));
    }

    [Fact]
    public void The_yard_shows_good_kegs_and_a_cycle_whose_hold_nobody_saw()
    {
        var cycles = Judge("yard", TimeSpan.FromMinutes(9));
        Assert.All(cycles[0], v => Assert.Equal(Verdict.Met, v.Verdict));
        Assert.Equal(4, cycles[1].Count);
        Assert.All(cycles[1], v => Assert.Equal(Verdict.NotProven, v.Verdict));
        Assert.All(cycles[1], v => Assert.Contains("sanitiser-hold", v.Results.Where(r => r.Verdict == Verdict.NotProven).Select(r => r.Requirement)));
        Assert.All(cycles[2], v => Assert.Equal(Verdict.Met, v.Verdict));
    }

    /// <summary>The verdicts of each cycle that ended, in order.</summary>
    private static List<IReadOnlyList<KegVerdict>> Judge(string id, TimeSpan until)
    {
        var site = ConfigurationLoader.Load(Path.Combine(Repository.Root, "config/demo/site.yaml")).Site!;
        var washer = site.Washers.Single(w => w.Model.Washer == id);
        var simulated = new SimulatedWasher(DemoScenario.Washers.Single(w => w.Options.Id == id).Options);
        var poller = new VirtualPoller(simulated, new PollerOptions { Groups = [.. washer.Groups.Select(g => new VirtualPollGroup(g.Number, g.Every, g.Heartbeat))] });
        var segmenter = new Segmenter(washer.Model);
        var frames = new List<Frame>();
        var verdicts = new List<IReadOnlyList<KegVerdict>>();
        foreach (var frame in poller.PollUntil(until))
        {
            frames.Add(frame);
            foreach (var ended in segmenter.Accept(frame).OfType<CycleEnded>())
            {
                verdicts.Add(Core.Verdicts.Judge.Decide(ended.Cycle, frames, washer.RecipeFor(ended.Cycle.Programme), []));
            }
        }

        return verdicts;
    }
}
