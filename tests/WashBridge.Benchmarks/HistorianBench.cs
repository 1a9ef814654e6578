using System.Diagnostics;
using System.Globalization;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Benchmarks;

/// <summary>The embedded historian at its bars, with plain SQLite rows and DuckDB beside it in the same run.</summary>
internal sealed class HistorianBench : IBench
{
    private const int TraceCount = 40;
    private const int WarmUps = 40;
    private const int MonthSeconds = 30 * 86_400;
    private const int MonthStepSeconds = 5;

    public string Name => "historian";

    public string What => "[--samples N] [--peer-samples N] [--folder PATH]: ingest, size, reads and sealing of the historian, SQLite rows and DuckDB";

    public async Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var samples = Number(arguments, "--samples", 2_400_000);
        var peerSamples = Number(arguments, "--peer-samples", Math.Min(samples, 1_200_000));
        var folder = Directory.CreateDirectory(Path.Combine(Argument(arguments, "--folder") ?? Path.GetTempPath(), $"historian-bench-{Environment.ProcessId}")).FullName;
        try
        {
            await Measure(Path.Combine(folder, "line.washdb"), samples, cancellation);
            foreach (var peer in new HistorianPeer[] { new HistorianSqlitePeer(), new HistorianDuckPeer() })
            {
                using (peer)
                {
                    MeasurePeer(peer, Path.Combine(folder, peer.Name + ".db"), peerSamples, cancellation);
                }
            }
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static async Task Measure(string path, long samples, CancellationToken cancellation)
    {
        Console.WriteLine($"WashBridge historian, {samples:N0} samples of {HistorianLine.Washers} washers x {HistorianLine.Tags} tags, one durable commit a second of data");
        var line = new HistorianLine();
        using var historian = Historian.Historian.Open(path, new HistorianOptions(), TimeProvider.System);
        await Ingest(historian, line, samples, cancellation);
        Month(historian);
        historian.Seal(HistorianLine.At(MonthSeconds + 1), cancellation);
        historian.Expire(HistorianLine.At(-1), cancellation);
        Trace(path, line);
        HourByHour(path);
        Console.WriteLine($"  resident memory {Process.GetCurrentProcess().WorkingSet64 / 1e6:N0} MB, at most {Process.GetCurrentProcess().PeakWorkingSet64 / 1e6:N0} MB");
        await new HistorianLive(historian).MeasureAsync(cancellation);
    }

    private static async Task Ingest(Historian.Historian historian, HistorianLine line, long samples, CancellationToken cancellation)
    {
        var processor = ProcessorTime;
        var appending = new Stopwatch();
        var commits = new List<double>();
        var duringSeal = new List<double>();
        var sealing = Task.CompletedTask;
        var sealTime = new Stopwatch();
        long done = 0;
        while (done < samples)
        {
            cancellation.ThrowIfCancellationRequested();
            var frames = line.Next();
            var busy = !sealing.IsCompleted;
            var start = appending.Elapsed;
            appending.Start();
            historian.AppendFrames(frames);
            appending.Stop();
            (busy ? duringSeal : commits).Add((appending.Elapsed - start).TotalMilliseconds);
            done += HistorianLine.SamplesPerSecond;
            if (line.Seconds % 1800 == 0 && sealing.IsCompleted)
            {
                var before = HistorianLine.At(line.Seconds / 1800 * 1800);
                sealing = Task.Run(() => historian.Seal(before, cancellation), cancellation);
            }
        }

        await sealing;
        Bar("durable ingest, with sealing beside it", done / appending.Elapsed.TotalSeconds, "samples/s", 500_000, atLeast: true);
        Console.WriteLine($"          processor time of all, data making and sealing included: {(ProcessorTime - processor).TotalSeconds / done * 1e9:N0} ns a sample");
        Report("commit", commits);
        if (duringSeal.Count > 0)
        {
            Report("commit while sealing", duringSeal);
            Bar("longest that a commit was held up by sealing", historian.LongestWait.TotalMilliseconds, "ms", 50, atLeast: false);
        }

        sealTime.Start();
        historian.Seal(HistorianLine.At(line.Seconds + 1), cancellation);
        sealTime.Stop();
        Console.WriteLine($"  sealing the rest: {sealTime.Elapsed.TotalSeconds:N2} s");
        historian.Expire(HistorianLine.At(-1), cancellation);
        Bar("size on disk after sealing", (double)new FileInfo(historian.Path).Length / done, "bytes/sample", 2.5, atLeast: false);
    }

    /// <summary>30 days of one tag of a washer of its own, a sample every five seconds.</summary>
    private static void Month(Historian.Historian historian)
    {
        var random = new Random(7);
        var scaled = 650;
        for (var hour = 0; hour < MonthSeconds / 3600; hour++)
        {
            historian.AppendFrames([.. Enumerable.Range(0, 3600 / MonthStepSeconds).Select(i =>
            {
                var at = HistorianLine.At((hour * 3600) + (i * MonthStepSeconds));
                var read = new TimeBounds(at, at + TimeSpan.FromMilliseconds(3 + random.Next(3)));
                scaled += random.Next(-1, 2);
                return new Frame { Washer = MonthSignal.Washer, Group = 0, Kind = FrameKind.Full, Read = read, Samples = [new Sample(MonthSignal, new SignalValue(scaled / 10.0), Quality.Good, read)] };
            })]);
        }
    }

    private static Signal MonthSignal { get; } = new("month", 0, "temperature.caustic", "Cel", SignalType.Quantity);

    /// <summary>Each trace from a reader that has nothing in memory.</summary>
    private static void Trace(string path, HistorianLine line)
    {
        Traces("as frames", (reader, washer, from, until) => reader.ReadFrames($"w{washer + 1}", from, until).Sum(f => f.Samples.Count));
        Traces("tag by tag", (reader, washer, from, until) => Enumerable.Range(0, HistorianLine.Tags).Sum(t => reader.ReadSamples(line.Signal(washer, t), from, until).Count));

        void Traces(string how, Func<IHistorianReader, int, Instant, Instant, int> trace)
        {
            var random = new Random(11);
            var times = new List<double>();
            var processor = TimeSpan.Zero;
            for (var i = -WarmUps; i < TraceCount; i++)
            {
                var from = HistorianLine.At(random.Next(Math.Max(1, line.Seconds - 300)));
                using var reader = Historian.Historian.OpenReader(path);
                var before = ProcessorTime;
                var time = Time(() => trace(reader, random.Next(HistorianLine.Washers), from, from + TimeSpan.FromMinutes(5)));
                if (i >= 0)
                {
                    times.Add(time);
                    processor += ProcessorTime - before;
                }
            }

            Bar($"trace of a cycle (60 tags, 5 min), {how}, median of {TraceCount}", Median(times), "ms", 10, atLeast: false);
            Console.WriteLine($"          processor time {processor.TotalMilliseconds / TraceCount:N2} ms, fastest {times.Min():N2} ms");
        }
    }

    private static TimeSpan ProcessorTime => Process.GetCurrentProcess().TotalProcessorTime;

    private static void HourByHour(string path)
    {
        using var reader = (Historian.Reading.HistorianReader)Historian.Historian.OpenReader(path);
        var (from, until) = (HistorianLine.Start, HistorianLine.At(MonthSeconds));
        var hours = 0;
        var before = ProcessorTime;
        var raw = Enumerable.Range(0, 7).Select(_ => Time(() => hours = reader.SummariseSamples(MonthSignal, from, until).Count)).ToList();
        var processor = (ProcessorTime - before).TotalMilliseconds / 7;
        var rollUps = Enumerable.Range(0, 7).Select(_ => Time(() => hours = reader.ReadHourly(MonthSignal, from, until).Count)).ToList();
        var span = $"30 days of a tag ({MonthSeconds / MonthStepSeconds:N0} samples) by the hour ({hours} hours)";
        Bar($"{span}, from samples, median", Median(raw), "ms", 100, atLeast: false);
        Console.WriteLine($"          processor time {processor:N2} ms, fastest {raw.Min():N2} ms");
        Bar($"{span}, from roll-ups, median", Median(rollUps), "ms", 5, atLeast: false);
    }

    private static void MeasurePeer(HistorianPeer peer, string path, long samples, CancellationToken cancellation)
    {
        Console.WriteLine($"{peer.Name}, {samples:N0} samples, one durable commit a second of data");
        var line = new HistorianLine();
        peer.Open(path);
        var appending = new Stopwatch();
        for (long done = 0; done < samples; done += HistorianLine.SamplesPerSecond)
        {
            cancellation.ThrowIfCancellationRequested();
            var frames = line.Next();
            appending.Start();
            peer.Append(frames);
            appending.Stop();
        }

        Console.WriteLine($"  durable ingest {samples / appending.Elapsed.TotalSeconds:N0} samples/s");
        peer.Settle();
        Console.WriteLine($"  size on disk {(double)new FileInfo(path).Length / samples:N2} bytes/sample");
        var random = new Random(11);
        var traces = Enumerable.Range(0, TraceCount).Select(_ =>
        {
            var from = HistorianLine.At(random.Next(Math.Max(1, line.Seconds - 300)));
            var washer = random.Next(HistorianLine.Washers);
            return Time(() => peer.Trace(washer, from, from + TimeSpan.FromMinutes(5)));
        }).ToList();
        Console.WriteLine($"  trace of a cycle, median of {TraceCount}: {Median(traces):N2} ms");
        peer.AppendMonth(MonthSeconds, MonthStepSeconds);
        var month = Enumerable.Range(0, 5).Select(_ => Time(() => peer.HourByHour())).ToList();
        Console.WriteLine($"  30 days of a tag by the hour, from samples, median: {Median(month):N2} ms");
    }

    internal static void Report(string what, List<double> milliseconds)
    {
        milliseconds.Sort();
        Console.WriteLine($"  {what}: {milliseconds.Count:N0}, p50 {At(0.5):N2}, p99 {At(0.99):N2}, max {milliseconds[^1]:N2} ms");

        double At(double share) => milliseconds[(int)(share * (milliseconds.Count - 1))];
    }

    internal static void Bar(string what, double value, string unit, double bar, bool atLeast)
    {
        var reached = atLeast ? value >= bar : value <= bar;
        Console.WriteLine($"  {(reached ? "reached" : "MISSED ")} {what}: {value.ToString(value >= 1000 ? "N0" : "N2", CultureInfo.InvariantCulture)} {unit} (bar: {(atLeast ? "at least" : "at most")} {bar:N1})");
    }

    internal static double Time(Func<long> work)
    {
        var start = Stopwatch.GetTimestamp();
        if (work() == 0)
        {
            throw new InvalidOperationException("the measured work found nothing");
        }

        return Stopwatch.GetElapsedTime(start).TotalMilliseconds;
    }

    internal static double Median(List<double> values) => values.Order().ElementAt(values.Count / 2);

    private static long Number(string[] arguments, string name, long otherwise) => Argument(arguments, name) is { } text ? long.Parse(text, CultureInfo.InvariantCulture) : otherwise;

    private static string? Argument(string[] arguments, string name) => Array.IndexOf(arguments, name) is >= 0 and var at && at + 1 < arguments.Length ? arguments[at + 1] : null;
}
