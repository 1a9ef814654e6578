using WashBridge.Core.Features;
using WashBridge.Simulator.Polling;

namespace WashBridge.Simulator.Tests.Measuring;

/// <summary>Figures against what the plant really did.</summary>
public sealed class FeatureTruthTests(ITestOutputHelper output)
{
    private static readonly string[] Compared =
    [
        "chemical-per-keg", "co2-per-keg", "co2-rest", "dosing-time", "drain-time", "drain-valve-use", "energy-per-keg", "heater-time", "kegs", "level", "liquid", "phase-time",
        "pump-run-time", "purge-high", "purge-low", "purge-rise", "rinse-out", "spray-current", "spray-flow", "spray-pressure", "step-time", "strength", "temperature-mean",
        "temperature-minimum", "temperature-return", "water-per-keg", "water-pressure",
    ];

    [Fact]
    public void Every_figure_lies_within_its_stated_uncertainty_of_the_truth()
    {
        var errors = new List<(string Key, double Error, double Uncertainty)>();
        for (var seed = 1; seed <= 4; seed++)
        {
            var options = new WasherOptions { Id = "w1", Seed = seed, EmptyStationChance = seed == 3 ? 0.3 : 0 };
            var run = new MeasuredRun(options, new PollerOptions { Seed = seed }, TimeSpan.FromMinutes(45));
            for (var i = 1; i < run.Cycles.Count; i++)
            {
                var cycle = run.Cycles[i];
                var truth = run.TruthOf(i);
                errors.AddRange(cycle.Features.Figures.Where(f => truth.ContainsKey(f.Key)).Select(f => (f.Key, truth[f.Key].DistanceTo(f.Value), f.Uncertainty)));
            }
        }

        foreach (var family in errors.GroupBy(e => FeatureCatalogue.Find(e.Key)!.Name).OrderBy(g => g.Key, StringComparer.Ordinal))
        {
            var ratios = family.Select(e => e.Error / Math.Max(e.Uncertainty, 1e-9)).Order().ToList();
            var (most, worst) = (ratios[(int)(0.95 * (ratios.Count - 1))], family.MaxBy(e => e.Error / Math.Max(e.Uncertainty, 1e-9)));
            output.WriteLine($"{family.Key,-20} {ratios.Count,5}: 95 % within {most:0.00} u, worst {worst.Error:G3} ({ratios[^1]:0.00} u) of {worst.Key}");
            Assert.True(most <= 2 && ratios[^1] <= 3, $"{worst.Key}: {worst.Error} with u {worst.Uncertainty}; 95 % of {family.Key} within {most} u");
        }

        Assert.Equal(Compared, errors.Select(e => FeatureCatalogue.Find(e.Key)!.Name).Distinct().Order(StringComparer.Ordinal));
    }
}
