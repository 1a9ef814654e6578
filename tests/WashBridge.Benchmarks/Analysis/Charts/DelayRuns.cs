using WashBridge.Analysis.Charts;
using WashBridge.Analysis.Statistics;
using WashBridge.Analysis.Tests.Charts;

namespace WashBridge.Benchmarks.Analysis.Charts;

/// <summary>Changes after references of different lengths: how soon they are found.</summary>
internal static class DelayRuns
{
    private const int Runs = 500;
    private const int FirstSeed = 50_000_000;
    private const int Patience = 20_000;
    private static readonly (double Step, double Ramp)[] Changes = [(0.5, 0), (1, 0), (2, 0), (0, 0.005), (0, 0.01), (0, 0.02), (0, 0.05)];
    private static readonly int[] References = [500, 2000, 4000];
    private static readonly double[] Ks = [0.15, 0.25, 0.35, 0.5, 0.7, 1];

    public static void All(ParallelOptions options, double share, KeptRows kept)
    {
        foreach (var every in new[] { 1e3, 1e4, 1e5 })
        {
            foreach (var (step, ramp) in Changes)
            {
                int[] references = [.. References.Where(n => !kept.Delays.Exists(r => r.Every == every && r.Step == step && r.Ramp == ramp && r.Reference == n))];
                if (references.Length == 0)
                {
                    continue;
                }

                var design = new ChartDesign(every);
                var best = ramp > 0 ? BestOfRamp(every, ramp, options) : CusumRunLength.TwoSided(step / 2, CusumRunLength.LimitTwoSided(step / 2, every), step);
                foreach (var reference in references)
                {
                    kept.Add(Run(design, reference, step, ramp, best, Math.Max(20, (int)(Runs * share)), options));
                }
            }
        }
    }

    private static DelayResult Run(ChartDesign design, int reference, double step, double ramp, double best, int runs, ParallelOptions options)
    {
        var found = new (int Delay, ChartSignal? Signal)?[runs];
        Parallel.For(0, runs, options, i => found[i] = Detect(design, FirstSeed + i, reference, t => step + (ramp * t)));
        var good = found.OfType<(int Delay, ChartSignal? Signal)>().ToArray();
        var delay = good.Average(g => (double)g.Delay);
        var error = Math.Sqrt(good.Sum(g => Math.Pow(g.Delay - delay, 2)) / (good.Length - 1.0) / good.Length);
        var told = good.Where(g => g.Signal is not null).Select(g => g.Signal!).ToArray();
        var within = told.Count(s => s.OnsetEarliest <= reference && s.OnsetLatest >= reference) / (double)told.Length;
        var result = new DelayResult(design.Every, reference, step, ramp, told.Length, delay, best, delay / best, error / best, within, told.Average(s => s.Size));
        Console.WriteLine(
            $"N {design.Every,9:N0}, reference {reference,4}, {(ramp > 0 ? $"ramp {ramp:0.000}" : $"step {step:0.0}  ")}: {delay,6:0.0} cycles, best {best,6:0.0}, ratio {result.Ratio:0.00} +- {result.StandardError:0.00}, onset within its interval {within:P0}");
        return result;
    }

    /// <returns>Null: a false alarm stood when the change came. Without a signal: not found within patience.</returns>
    private static (int Delay, ChartSignal? Signal)? Detect(ChartDesign design, int seed, int reference, Func<int, double> change)
    {
        var plant = new Plant("normal", seed);
        var chart = new FeatureChart($"figure {seed}");
        chart.Promise(design);
        for (var i = 0; i < reference + Patience; i++)
        {
            var value = plant.Next()!.Value + (i < reference ? 0 : change(i - reference + 1));
            if (i == reference && chart.IsDrifting)
            {
                return null;
            }

            if (chart.Accept(i, DeterministicHash.Combine((ulong)seed, (ulong)i), value) is ChartSignal signal && i >= reference)
            {
                return (i - reference + 1, signal);
            }
        }

        return (Patience, null);
    }

    private static double BestOfRamp(double every, double ramp, ParallelOptions options)
    {
        var means = new double[Ks.Length];
        Parallel.For(0, Ks.Length, options, i =>
        {
            var h = CusumRunLength.LimitTwoSided(Ks[i], every);
            var plant = new Plant("normal", FirstSeed - 1 - i);
            for (var run = 0; run < 4000; run++)
            {
                var sum = new Cusum(Ks[i], h);
                var t = 1;
                while (sum.Add(plant.Next()!.Value + (ramp * t)) == 0)
                {
                    t++;
                }

                means[i] += t / 4000.0;
            }
        });
        return means.Min();
    }
}
