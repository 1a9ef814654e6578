using WashBridge.Analysis;
using WashBridge.Analysis.Charts;
using WashBridge.Analysis.Statistics;
using WashBridge.Analysis.Tests.Charts;
using WashBridge.Core.Cycles;

namespace WashBridge.Benchmarks.Analysis.Charts;

/// <summary>Years in which nothing is wrong: every signal is a false alarm.</summary>
internal static class PromiseRuns
{
    public const int CyclesAYear = 25_000;

    // Seeds that neither tests nor tuning use.
    private const int FirstSeed = 40_000_000;

    /// <summary>One figure alone, by kind of distribution.</summary>
    public static void Figures(ParallelOptions options, double share, KeptRows kept)
    {
        foreach (var (every, years) in new[] { (1e3, 24), (1e4, 80), (1e5, 280), (5e5, 400) })
        {
            var design = new Lazy<ChartDesign>(() => new ChartDesign(every));
            foreach (var kind in Plant.Kinds)
            {
                Run("figure", kind, every, Math.Max(4, (int)(years * share)), options, kept, seed => FigureYear(kind, seed, design.Value));
            }
        }
    }

    /// <summary>Whole washers: figures of all kinds, drain indices, comparisons of stations, groups.</summary>
    public static void Washers(ParallelOptions options, int years, KeptRows kept)
    {
        foreach (var (every, share) in new[] { (1e3, 1), (1e4, 5), (1e5, 14) })
        {
            Run("washer", "mixed", every, Math.Max(4, years * share / 20), options, kept, seed => WasherYear(seed, every));
        }
    }

    private static void Run(string level, string kind, double every, int years, ParallelOptions options, KeptRows kept, Func<int, (long Cycles, long Alarms)> year)
    {
        if (kept.Promises.Exists(r => r.Level == level && r.Kind == kind && r.Every == every))
        {
            return;
        }

        var runs = new (long Cycles, long Alarms)[years];
        Parallel.For(0, years, options, i => runs[i] = year(FirstSeed + i));
        var (cycles, alarms) = (runs.Sum(r => r.Cycles), runs.Sum(r => r.Alarms));
        var ratio = alarms * every / cycles;

        // Of a ratio of sums: runs scatter more than single alarms, because a reference that is off centre gives several.
        var scatter = Math.Sqrt(runs.Sum(r => Math.Pow(r.Alarms - (r.Cycles * ratio / every), 2)) / (years - 1.0) * years);
        var result = new PromiseResult(level, kind, every, years, cycles, alarms, alarms * 1000.0 / cycles, ratio, scatter * every / cycles);
        Console.WriteLine($"{level,-7} {kind,-24} N {every,9:N0}: {alarms,6} false alarms in {cycles,13:N0} cycles, {result.PerThousandCycles:0.00000} in 1,000, {ratio:0.00} +- {result.StandardError:0.00} of the promise");
        kept.Add(result);
    }

    private static (long Cycles, long Alarms) FigureYear(string kind, int seed, ChartDesign design)
    {
        var plant = new Plant(kind, seed);
        var chart = new FeatureChart($"figure {seed}");
        chart.Promise(design);
        var (cycles, alarms) = (0L, 0L);
        for (var i = 0; i < CyclesAYear; i++)
        {
            if (plant.Next() is { } value)
            {
                cycles += chart.IsDrifting ? 0 : 1;
                alarms += chart.Accept(i, DeterministicHash.Combine((ulong)seed, (ulong)i), value) is ChartSignal { IsWorse: false } ? 1 : 0;
            }
        }

        return (cycles, alarms);
    }

    private static (long Cycles, long Alarms) WasherYear(int seed, double every)
    {
        var plant = new MixedWasher(seed);
        var watch = new DriftWatch(new AnalysisSettings { Washer = $"w{seed}", Stations = MixedWasher.Stations, FalseAlarmEvery = every, TellSmallChanges = true });
        var alarms = 0L;
        for (var i = 0; i < CyclesAYear; i++)
        {
            alarms += watch.Accept(plant.Next()).Count(e => e is DriftFound && !e.Id.EndsWith("/worse", StringComparison.Ordinal));
        }

        return (CyclesAYear, alarms);
    }
}
