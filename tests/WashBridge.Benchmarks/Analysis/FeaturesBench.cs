using System.Diagnostics;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Simulator;
using WashBridge.Simulator.Polling;

namespace WashBridge.Benchmarks.Analysis;

/// <summary>How long it takes to get all figures of a cycle from its frames.</summary>
internal sealed class FeaturesBench : IBench
{
    private const double BarMilliseconds = 0.5;
    private const int Rounds = 40;

    public string Name => "features";

    public string What => "all figures of one cycle from its frames";

    public Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        Run("100 ms, 500 ms, 1 s polls", new PollerOptions());
        Run("500 ms, 500 ms, 2 s polls", new PollerOptions
        {
            Groups = [new(0, TimeSpan.FromMilliseconds(500), TimeSpan.FromSeconds(10)), new(1, TimeSpan.FromMilliseconds(500), TimeSpan.FromSeconds(30)), new(2, TimeSpan.FromSeconds(2), TimeSpan.FromSeconds(60))],
        });
        return Task.CompletedTask;
    }

    private static void Run(string what, PollerOptions polling)
    {
        var washer = new SimulatedWasher(new WasherOptions { Id = "bench" });
        var cycles = Cycles(washer, polling);
        var deadBands = washer.Map.ToDictionary(m => m.Signal, m => m.DeadBand);
        var recipe = new Recipe { Id = "bench", Version = 1, Requirements = [new TimeBeyond { Id = "hot", Signal = "temperature.caustic", Value = 65, Phases = ["caustic-wash"], AtLeast = TimeSpan.FromSeconds(10) }] };
        var figures = 0;
        var times = new List<double>();
        for (var round = 0; round < Rounds; round++)
        {
            var clock = Stopwatch.StartNew();
            foreach (var (cycle, frames, previous) in cycles)
            {
                figures = FeatureExtractor.Of(cycle, frames, recipe, [], previous, s => deadBands[s]).Figures.Count;
            }

            times.Add(clock.Elapsed.TotalMilliseconds / cycles.Count);
        }

        times.Sort();
        var before = GC.GetAllocatedBytesForCurrentThread();
        _ = FeatureExtractor.Of(cycles[0].Cycle, cycles[0].Frames, recipe, [], cycles[0].Previous, s => deadBands[s]);
        var allocated = GC.GetAllocatedBytesForCurrentThread() - before;
        Console.WriteLine($"{what}: {cycles.Average(c => c.Frames.Count):N0} frames of {washer.Map.Count} signals, {figures} figures: median {times[Rounds / 2]:0.000} ms, least {times[0]:0.000} ms a cycle, {allocated / 1024:N0} KiB (bar {BarMilliseconds} ms: {(times[Rounds / 2] <= BarMilliseconds ? "reached" : "missed")})");
    }

    internal static List<(CycleRecord Cycle, IReadOnlyList<Frame> Frames, TimeBounds? Previous)> Cycles(SimulatedWasher washer, PollerOptions polling)
    {
        var segmenter = new Segmenter(washer.Model);
        var frames = new List<Frame>();
        var cycles = new List<(CycleRecord, IReadOnlyList<Frame>, TimeBounds?)>();
        TimeBounds? previous = null;
        foreach (var frame in new VirtualPoller(washer, polling).PollUntil(TimeSpan.FromHours(1)))
        {
            frames.Add(frame);
            foreach (var ended in segmenter.Accept(frame).OfType<CycleEnded>())
            {
                var from = (previous?.Earliest ?? frames[0].Read.Earliest) - TimeSpan.FromSeconds(60);
                cycles.Add((ended.Cycle, frames.FindAll(f => f.Read.Earliest >= from), previous));
                previous = ended.Cycle.End.Wall;
            }
        }

        return cycles;
    }
}
