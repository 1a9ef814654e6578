using System.Security.Cryptography;
using System.Text;
using WashBridge.Analysis;
using WashBridge.Benchmarks.Analysis.Years;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;

namespace WashBridge.Benchmarks.Analysis.Speed;

/// <summary>
/// What the whole analysis of a washer costs, watch by watch, over a year of one; and how long a single cycle takes, which is what a live update waits for. The digest of all
/// that was found shows whether two versions of the analysis say the same.
/// </summary>
internal sealed class AnalysisSpeedBench : IBench
{
    private const double YearBar = 5;
    private const double CycleBar = 5;

    // Few at a time: events that wait to be analysed would be moved about by the garbage collector, as they are not where they come one by one.
    private const int Batch = 20;

    public string Name => "analysis-speed";

    public string What => "processor time of the whole analysis over simulated washer-years, and of single cycles: FOLDER [FIRST-SEED LAST-SEED [FILE-FOR-FINDINGS]]";

    public Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        if (arguments.Length < 1)
        {
            throw new ArgumentException(What);
        }

        var (folder, first, last) = (arguments[0], arguments.Length > 1 ? int.Parse(arguments[1]) : 0, arguments.Length > 2 ? int.Parse(arguments[2]) : int.MaxValue);
        using var findings = arguments.Length > 3 ? new StreamWriter(arguments[3]) { NewLine = "\n" } : null;
        Console.WriteLine($"single cycles and watches: {ThreadTime.Kind}; the first year pays for compiling");
        foreach (var seed in YearFiles.Seeds(folder).Where(s => s >= first && s <= last))
        {
            cancellation.ThrowIfCancellationRequested();
            Measure(folder, seed, findings);
        }

        return Task.CompletedTask;
    }

    private static void Measure(string folder, int seed, StreamWriter? findings)
    {
        var truth = YearFiles.ReadTruth(folder, seed);
        var settings = YearSettings.Of(truth) with { Recipes = new ApprovedRecipes(truth.Recipes[0].Recipe, new Dictionary<int, Recipe>()) };
        var watches = AnalysisFactory.Watches(settings).Select(w => new TimedWatch(w)).ToList();
        var analysis = new WasherAnalysis(watches);
        var cycles = new List<double>();
        var worst = (Milliseconds: 0.0, Cycle: 0, Watch: "");
        using var digest = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        var (reading, analysing, allocated, figures, found) = (TimeSpan.Zero, TimeSpan.Zero, 0L, 0L, 0);
        using var events = YearFiles.ReadEvents(folder, seed).GetEnumerator();
        var batch = new List<WashEvent>(Batch);
        var all = new List<WashEvent>();
        do
        {
            var begin = Environment.CpuUsage.TotalTime;
            batch.Clear();
            while (batch.Count < Batch && events.MoveNext())
            {
                batch.Add(events.Current);
            }

            reading += Environment.CpuUsage.TotalTime - begin;
            all.Clear();
            var bytes = GC.GetAllocatedBytesForCurrentThread();
            begin = Environment.CpuUsage.TotalTime;
            foreach (var washEvent in batch)
            {
                var (from, before) = (ThreadTime.Now, watches.ConvertAll(w => w.Nanoseconds));
                all.AddRange(analysis.Accept(washEvent));
                if (washEvent is CycleMeasured)
                {
                    cycles.Add((ThreadTime.Now - from) / 1e6);
                    if (cycles[^1] > worst.Milliseconds)
                    {
                        worst = (cycles[^1], cycles.Count, watches.MaxBy(w => w.Nanoseconds - before[watches.IndexOf(w)])!.Name);
                    }
                }
            }

            analysing += Environment.CpuUsage.TotalTime - begin;
            allocated += GC.GetAllocatedBytesForCurrentThread() - bytes;
            figures += batch.OfType<CycleMeasured>().Sum(c => c.Features.Figures.Count);
            found += all.Count;
            foreach (var line in all.Select(WashJson.Write))
            {
                digest.AppendData(Encoding.UTF8.GetBytes(line));
                findings?.WriteLine(line);
            }
        }
        while (batch.Count == Batch);

        Print(seed, $"{truth.Description}; {cycles.Count:N0} cycles of {figures / Math.Max(1, cycles.Count)} figures; {found:N0} findings, digest {Convert.ToHexString(digest.GetHashAndReset())[..16]}");
        var parts = string.Join(", ", watches.Select(w => $"{w.Name} {w.Nanoseconds / 1e9:F2} s ({w.Nanoseconds / 1e9 / analysing.TotalSeconds:P0})"));
        Console.WriteLine($"   year: {analysing.TotalSeconds:F2} s of processor, {Held(analysing.TotalSeconds, YearBar, "s")}; {parts}; {allocated / 1024.0 / Math.Max(1, cycles.Count):F1} KiB allocated a cycle; reading {reading.TotalSeconds:F2} s");
        cycles.Sort();
        double At(double share) => cycles[(int)Math.Min(cycles.Count - 1, share * cycles.Count)];
        Console.WriteLine(
            $"   cycle: median {At(0.5):F3} ms, 99 % {Times(At(0.99))}, 99.9 % {Times(At(0.999))}, worst {Times(cycles[^1])}, the {worst.Cycle:N0}th, mostly {worst.Watch}; "
            + $"99.9 %: {Held(At(0.999), CycleBar, "ms")}; worst: {Held(cycles[^1], CycleBar, "ms")}");

        string Times(double milliseconds) => $"{milliseconds:F3} ms ({milliseconds / At(0.5):F0} medians)";
    }

    private static void Print(int seed, string text) => Console.WriteLine($"{seed}: {text}");

    private static string Held(double value, double bar, string unit) => $"{value / bar:F2} of the bar of {bar} {unit}, {(value <= bar ? "reached" : "missed")}";
}
