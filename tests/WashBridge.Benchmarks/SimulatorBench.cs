using System.Diagnostics;
using WashBridge.Simulator;
using WashBridge.Simulator.Polling;

namespace WashBridge.Benchmarks;

/// <summary>How much faster than real time a washer is simulated, alone and with a poller on it.</summary>
internal sealed class SimulatorBench : IBench
{
    private const double Bar = 20_000;

    public string Name => "simulator";

    public string What => "virtual time of one washer, 2 stations, 50 ms scan: times real time";

    public Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var options = new WasherOptions { Id = "bench" };
        var washer = new SimulatedWasher(options);
        washer.AdvanceTo(TimeSpan.FromHours(4));
        var alone = Measure(washer, TimeSpan.FromHours(24), until => washer.AdvanceTo(until));
        var polled = new SimulatedWasher(options);
        var poller = new VirtualPoller(polled, new PollerOptions());
        var frames = 0;
        var withPoller = Measure(polled, TimeSpan.FromHours(6), until => frames = poller.PollUntil(until).Count());
        Console.WriteLine($"washer alone: {alone:N0} x real time (bar {Bar:N0}: {(alone >= Bar ? "reached" : "missed")}), {washer.FinishedCycles.Count} cycles");
        Console.WriteLine($"washer and poller at 100 ms, {polled.Map.Count} signals: {withPoller:N0} x real time, {frames:N0} frames");
        return Task.CompletedTask;
    }

    private static double Measure(SimulatedWasher washer, TimeSpan span, Action<TimeSpan> run)
    {
        var clock = Stopwatch.StartNew();
        run(washer.Now + span);
        return span / clock.Elapsed;
    }
}
