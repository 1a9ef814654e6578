using System.Diagnostics;
using WashBridge.Benchmarks.Analysis.Years;
using WashBridge.Core;

namespace WashBridge.Benchmarks.Analysis;

/// <summary>
/// Simulates washer-years through the whole pipeline and keeps what the analysis reads, with the truth beside it. Years that are whole already are passed
/// over, so that it can be stopped and started again. The same seed gives the same files.
/// </summary>
internal sealed class AnalysisYearsBench : IBench
{
    public string Name => "analysis-years";

    public string What => "FOLDER FIRST-SEED COUNT [THREADS [CYCLES]]: simulates washer-years of 25,000 cycles with known truth";

    public async Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        if (arguments.Length < 3)
        {
            throw new ArgumentException(What);
        }

        var (folder, first, count) = (arguments[0], int.Parse(arguments[1]), int.Parse(arguments[2]));
        var threads = arguments.Length > 3 ? int.Parse(arguments[3]) : 1;
        var cycles = arguments.Length > 4 ? int.Parse(arguments[4]) : YearPlan.Cycles;
        Directory.CreateDirectory(folder);
        var next = first - 1;
        await Task.WhenAll(Enumerable.Range(0, threads).Select(_ => Task.Factory.StartNew(Work, cancellation, TaskCreationOptions.LongRunning, TaskScheduler.Default)));

        void Work()
        {
            while (Interlocked.Increment(ref next) is var seed && seed < first + count && !cancellation.IsCancellationRequested)
            {
                if (!YearFiles.IsWhole(folder, seed))
                {
                    Make(folder, seed, cycles, cancellation);
                }
            }
        }
    }

    private static void Make(string folder, int seed, int cycles, CancellationToken cancellation)
    {
        var clock = Stopwatch.StartNew();
        YearTruth truth;
        using (var events = YearFiles.CreateEvents(folder, seed))
        {
            truth = WasherYear.Run(seed, cycles, e => events.WriteLine(WashJson.Write(e)), cancellation);
        }

        YearFiles.Finish(folder, truth);
        Console.WriteLine(
            $"{seed}: {truth.Description}; {truth.Cycles:N0} cycles, {truth.CycleIds.Count(id => id is not null):N0} recorded; "
            + $"{(truth.IsFaultFree ? "no faults" : $"{truth.Episodes.Count} episodes, {truth.Episodes.Count(e => e.FailureCycle is not null)} to failure")}; "
            + $"{clock.Elapsed.TotalSeconds:N1} s, {YearFiles.Bytes(folder, seed) / 1e6:N1} MB");
    }
}
