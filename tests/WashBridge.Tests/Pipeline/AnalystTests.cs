using Microsoft.Extensions.Time.Testing;
using WashBridge.Configuration;
using WashBridge.Core;
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

namespace WashBridge.Tests.Pipeline;

/// <summary>From the log of frames to verdicts and figures.</summary>
public sealed class AnalystTests : IDisposable
{
    private static readonly FakeTimeProvider Time = new(new DateTimeOffset(2031, 3, 5, 12, 0, 0, TimeSpan.Zero));
    private static readonly Lazy<List<Frame>> Recording = new(() => [.. new VirtualPoller(new SimulatedWasher(DemoScenario.Washers[0].Options with { Faults = [], KegIds = false }), Slow).PollUntil(TimeSpan.FromMinutes(15))]);

    private readonly TemporaryFolder _folder = new();
    private readonly Site _site = ConfigurationLoader.Load(Path.Combine(Repository.Root, "config/demo/site.yaml")).Site!;

    private static PollerOptions Slow => new()
    {
        Start = Instant.Parse("2031-03-05T08:00:00Z"),
        Groups = [new(0, TimeSpan.FromMilliseconds(200), TimeSpan.FromSeconds(10)), new(1, TimeSpan.FromMilliseconds(500), TimeSpan.FromSeconds(30)), new(2, TimeSpan.FromSeconds(1), TimeSpan.FromSeconds(60))],
    };

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void Each_cycle_is_measured_after_its_kegs_are_judged_with_the_same_keg_ids()
    {
        var events = Analyse("whole", frames => [frames]);
        var ended = events.OfType<CycleEnded>().ToList();
        Assert.True(ended.Count >= 3);
        foreach (var cycle in ended.Select(e => e.Cycle))
        {
            var own = events.Where(e => e.CycleId == cycle.Id).ToList();
            var measured = Assert.IsType<CycleMeasured>(own[^1]);
            Assert.Equal($"{cycle.Id}/measured", measured.Id);
            Assert.Equal(cycle.End.Wall, measured.At);
            Assert.Equal(own.OfType<KegJudged>().Select(k => new WashedKeg(k.Verdict.Station, k.Verdict.KegId)), measured.Features.Kegs);
            Assert.True(measured.Features.Figures.Count > 100, $"{measured.Features.Figures.Count} figures");
        }

        // What counts since the cycle before is known from the second cycle on.
        Assert.Equal(ended.Skip(1).Select(e => e.CycleId), events.OfType<CycleMeasured>().Where(m => m.Features.Figures.Any(f => f.Name == "heater-time/caustic")).Select(m => m.CycleId));
    }

    /// <summary>Several cycles can end within one batch of frames: then the historian does not have the cycle before yet.</summary>
    [Fact]
    public void How_the_log_is_cut_into_batches_changes_nothing()
    {
        var whole = Analyse("whole", frames => [frames]);
        var cut = Analyse("cut", frames => frames.Chunk(97).Select(c => c.ToList()));
        Assert.Equal(whole.Select(WashJson.Write), cut.Select(WashJson.Write));
    }

    [Fact]
    public void A_scan_is_used_up_by_the_first_cycle_after_it_however_the_log_is_cut()
    {
        var scan = new KegScanned { Id = "scan-1", Washer = "north", At = TimeBounds.At(Slow.Start + TimeSpan.FromSeconds(2)), Station = 1, KegId = "K-4711" };
        foreach (var name in new[] { "whole", "cut" })
        {
            var events = Analyse(name, frames => name == "whole" ? [frames] : frames.Chunk(97).Select(c => c.ToList()), scan);
            Assert.Equal(["K-4711"], events.OfType<KegJudged>().Where(k => k.Verdict.KegIdSource == KegIdSource.Scan).Select(k => k.Verdict.KegId));
        }
    }

    [Fact]
    public void It_folds_no_further_than_the_gate_and_says_what_is_settled()
    {
        using var historian = HistorianFile.Open(_folder["gated.washdb"], new HistorianOptions(), Time);
        var gate = new FoldGate();
        var analyst = new Analyst(historian, _site.Washers, gate);
        historian.AppendFrames(Recording.Value);
        gate.Set(100, long.MaxValue);
        analyst.CatchUp();
        Assert.Equal((100, 100), (analyst.Cursor, analyst.Settled));

        gate.Set(50, long.MaxValue);
        analyst.CatchUp();
        Assert.Equal((100, 100), (analyst.Cursor, analyst.Settled));

        gate.Open();
        analyst.CatchUp();
        Assert.True(analyst.Cursor >= Recording.Value.Count);
        Assert.Equal(historian.LastSequence, analyst.Settled);
        Assert.Equal(Analyse("whole", frames => [frames]).Select(WashJson.Write), historian.ReadEvents(new EventQuery()).Select(WashJson.Write));
    }

    /// <summary>A stretch that another bridge has read too, and whose frames of that bridge follow.</summary>
    [Fact]
    public void What_is_left_out_is_as_if_it_had_not_been_read()
    {
        using var historian = HistorianFile.Open(_folder["left-out.washdb"], new HistorianOptions(), Time);
        var gate = new FoldGate();
        gate.LeaveOut([new LogRange(1000, 1100)]);
        historian.AppendFrames([.. Recording.Value.Take(1100), .. Recording.Value.Skip(1000)]);
        new Analyst(historian, _site.Washers, gate).CatchUp();
        Assert.Equal(
            Analyse("whole", frames => [frames]).Where(e => e is CycleEnded or StepEnded).Select(WashJson.Write),
            historian.ReadEvents(new EventQuery()).Where(e => e is CycleEnded or StepEnded).Select(WashJson.Write));
    }

    private List<WashEvent> Analyse(string name, Func<List<Frame>, IEnumerable<List<Frame>>> cut, params WashEvent[] scans)
    {
        using var historian = HistorianFile.Open(_folder[$"{name}.washdb"], new HistorianOptions(), Time);
        historian.AppendEvents(scans);
        var analyst = new Analyst(historian, _site.Washers);
        foreach (var batch in cut(Recording.Value))
        {
            historian.AppendFrames(batch);
            analyst.CatchUp();
        }

        return [.. historian.ReadEvents(new EventQuery()).Where(e => e is not KegScanned)];
    }
}
