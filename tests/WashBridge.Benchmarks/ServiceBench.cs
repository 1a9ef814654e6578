using System.Diagnostics;
using System.Diagnostics.Metrics;
using System.Text;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Telemetry;

namespace WashBridge.Benchmarks;

/// <summary>
/// Twenty washers of 60 tags at 10 Hz, their controllers in another process. First the bridge in this process, to see every frame's delay; then the
/// program itself (<c>run</c>) as a process of its own, for memory and processor time.
/// </summary>
internal sealed class ServiceBench : IBench
{
    public const int Washers = 20;
    private static readonly TimeSpan Poll = TimeSpan.FromMilliseconds(100);

    public string Name => "service";

    public string What => "20 washers at 10 Hz: change to commit, schedule jitter, memory, processor time [seconds a part, 30 by default]";

    public async Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var length = TimeSpan.FromSeconds(arguments.Length > 0 ? int.Parse(arguments[0]) : 30);
        var folder = Directory.CreateTempSubdirectory("washbridge-bench-").FullName;
        using var farm = Start("dotnet", Path.Combine(AppContext.BaseDirectory, "WashBridge.Benchmarks.dll"), "washer-farm", Washers.ToString());
        try
        {
            var ports = (await farm.StandardOutput.ReadLineAsync(cancellation))!.Split(' ').Select(int.Parse).ToList();
            var site = WriteSite(folder, ports);
            await MeasureDelaysAsync(site, Path.Combine(folder, "delays.washdb"), length, cancellation);
            await MeasureProcessAsync(site, length, cancellation);
        }
        finally
        {
            farm.StandardInput.Close();
            await farm.WaitForExitAsync(CancellationToken.None);
            Directory.Delete(folder, recursive: true);
        }
    }

    private static async Task MeasureDelaysAsync(string siteFile, string store, TimeSpan length, CancellationToken cancellation)
    {
        var loaded = ConfigurationLoader.Load(siteFile);
        var site = loaded.Site ?? throw new InvalidOperationException(string.Join('\n', loaded.Problems));
        var lateness = new List<double>();
        using var listener = new MeterListener();
        listener.InstrumentPublished = (instrument, self) =>
        {
            if (instrument is { Meter.Name: Measures.MeterName, Name: PollingInstruments.LatenessName })
            {
                self.EnableMeasurementEvents(instrument);
            }
        };
        listener.SetMeasurementEventCallback<double>((_, value, _, _) =>
        {
            lock (lateness)
            {
                lateness.Add(value * 1000);
            }
        });
        listener.Start();

        using var historian = Historian.Historian.Open(store, new HistorianOptions(), TimeProvider.System);
        var watched = new WatchedHistorian(historian);
        var bridge = new Bridge(site, watched, new HistorianSignal(), [], TimeProvider.System, NullLoggerFactory.Instance, bootId: null);
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(cancellation);
        stop.CancelAfter(length);
        await bridge.RunAsync(stop.Token);

        var bar = Poll.TotalMilliseconds + 50;
        Print("changed register to committed sample, ms", watched.DelaysMilliseconds, bar);
        Print("poll started after it was due, ms", lateness, 10);
        Console.WriteLine($"frames committed: {watched.Frames}, of {Washers * length.TotalSeconds / Poll.TotalSeconds:0} due");
    }

    private static async Task MeasureProcessAsync(string siteFile, TimeSpan length, CancellationToken cancellation)
    {
        var program = Path.Combine(AppContext.BaseDirectory, "washbridge.dll");
        using var service = Start("dotnet", program, "run", siteFile);
        _ = service.StandardOutput.ReadToEndAsync(CancellationToken.None);
        await Task.Delay(TimeSpan.FromSeconds(5), TimeProvider.System, cancellation);
        service.Refresh();
        var (before, clock) = (service.TotalProcessorTime, Stopwatch.GetTimestamp());
        await Task.Delay(length, TimeProvider.System, cancellation);
        service.Refresh();
        var share = (service.TotalProcessorTime - before) / Stopwatch.GetElapsedTime(clock);
        Console.WriteLine($"service: {share:P1} of one core (bar 25 %), {service.WorkingSet64 / 1e6:0} MB resident (bar 150), peak {service.PeakWorkingSet64 / 1e6:0} MB");
        using var interrupt = Process.Start("kill", ["-INT", service.Id.ToString()]);
        await service.WaitForExitAsync(cancellation);
        Console.WriteLine($"service stopped with exit code {service.ExitCode}");
    }

    public static Process Start(string program, params string[] arguments) => Process.Start(new ProcessStartInfo(program, arguments)
    {
        RedirectStandardInput = true,
        RedirectStandardOutput = true,
    })!;

    private static void Print(string what, List<double> values, double bar)
    {
        values.Sort();
        double At(double share) => values[(int)Math.Min(values.Count - 1, share * values.Count)];
        Console.WriteLine($"{what}: p50 {At(0.5):0.0}, p99 {At(0.99):0.0} (bar {bar:0}), max {values[^1]:0.0}, n {values.Count}");
    }

    public static string WriteSite(string folder, List<int> ports)
    {
        File.WriteAllText(Path.Combine(folder, "recipe.yaml"), """
            recipe: bench
            version: 1
            title: Bench
            requirements:
              - {id: order, title: It ran, type: phase-order, phases: [rinse]}
            """);
        var map = new StringBuilder("""
            title: Bench
            address-base: 0
            word-order: high-first
            tags:
              - {signal: other.changed, unit: "1", group: 0, table: holding-registers, address: 0, type: uint32}
              - {signal: sequence.step, group: 0, table: holding-registers, address: 2, type: uint16}

            """);
        for (var i = 2; i < WasherFarm.Tags; i++)
        {
            map.AppendLine($$"""  - {signal: other.t{{i}}, unit: Cel, group: 0, table: holding-registers, address: {{i + 1}}, type: uint16, scale: 0.1}""");
        }

        File.WriteAllText(Path.Combine(folder, "map.yaml"), map.ToString());
        for (var i = 0; i < ports.Count; i++)
        {
            File.WriteAllText(Path.Combine(folder, $"w{i}.yaml"), $$"""
                washer: w{{i}}
                title: Bench
                stations: 1
                connection: {host: 127.0.0.1, port: {{ports[i]}}}
                programme:
                  - {phase: rinse, kind: rinse, steps: [wall-spray, spear-rinse, drain]}
                sequence:
                  step-table:
                    - {code: 1, phase: rinse, step: wall-spray}
                    - {code: 2, phase: rinse, step: spear-rinse}
                    - {code: 3, phase: rinse, step: drain}
                  idle-codes: [0, 4, 5, 6, 7]
                poll-groups:
                  - {group: 0, name: all, every: {{Poll.TotalMilliseconds}} ms, heartbeat: 1 min}
                tag-map: map.yaml
                recipe: recipe.yaml
                """);
        }

        var site = Path.Combine(folder, "site.yaml");
        File.WriteAllText(site, $"""
            site: bench
            title: Bench
            time-zone: UTC
            washers: [{string.Join(", ", ports.Select((_, i) => $"w{i}.yaml"))}]
            store:
              path: bench.washdb
            """);
        return site;
    }

    /// <summary>Looks at every commit as it returns: how old is the change that it made durable?</summary>
    private sealed class WatchedHistorian(IHistorian inner) : IHistorian
    {
        public List<double> DelaysMilliseconds { get; } = [];

        public long Frames { get; private set; }

        public long LastSequence => inner.LastSequence;

        public IReadOnlyList<Signal> Signals => inner.Signals;

        public long AppendFrames(IReadOnlyList<Frame> frames, FollowerState? follower = null)
        {
            var last = inner.AppendFrames(frames, follower);
            var now = WasherFarm.Now;
            Frames += frames.Count;
            foreach (var sample in frames.Where(f => f.Kind == FrameKind.Changes).SelectMany(f => f.Samples).Where(s => s.Signal.Name == "other.changed"))
            {
                DelaysMilliseconds.Add((now - sample.Value.Number) / 10);
            }

            return last;
        }

        public long AppendEvents(IReadOnlyList<Core.Cycles.WashEvent> events, FollowerState? follower = null) => inner.AppendEvents(events, follower);

        public void Seal(Core.Time.Instant before, CancellationToken cancellation = default) => inner.Seal(before, cancellation);

        public void Expire(Core.Time.Instant before, CancellationToken cancellation = default) => inner.Expire(before, cancellation);

        public IReadOnlyList<LogEntry> ReadLog(long after, int atMost, LogContent content = LogContent.All, string? washer = null) => inner.ReadLog(after, atMost, content, washer);

        public IReadOnlyList<Frame> ReadFrames(string washer, Core.Time.Instant from, Core.Time.Instant until) => inner.ReadFrames(washer, from, until);

        public IReadOnlyList<Sample> ReadSamples(Signal signal, Core.Time.Instant from, Core.Time.Instant until) => inner.ReadSamples(signal, from, until);

        public IReadOnlyList<HourlySummary> ReadHourly(Signal signal, Core.Time.Instant from, Core.Time.Instant until) => inner.ReadHourly(signal, from, until);

        public IReadOnlyList<Core.Cycles.WashEvent> ReadEvents(EventQuery query) => inner.ReadEvents(query);

        public FollowerState? ReadFollower(string follower) => inner.ReadFollower(follower);

        public bool RemoveFollower(string follower) => inner.RemoveFollower(follower);

        public void Dispose() => inner.Dispose();
    }
}
