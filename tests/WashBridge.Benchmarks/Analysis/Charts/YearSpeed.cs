using WashBridge.Analysis;
using WashBridge.Analysis.Charts;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Time;

namespace WashBridge.Benchmarks.Analysis.Charts;

/// <summary>A year of one large washer: 60 figures, all watched, through the whole drift watch.</summary>
internal static class YearSpeed
{
    private const int Stations = 8;
    private static readonly string[] OfAStation = ["purge-high", "purge-low", "purge-rise", "drain-bounce", "rinse-out/rinse", "temperature-return/caustic"];
    private static readonly string[] OfTheWasher =
    [
        "air-pressure", "water-pressure/rest", "co2-rest", "co2-flow/8", "timing", "strength/caustic", "temperature-mean/caustic", "level/caustic", "heater-time/caustic", "heat-up-rate/caustic",
        "spray-pressure/caustic/8", "spray-current/caustic/8",
    ];

    public static SpeedResult Measure()
    {
        var random = new Random(1);
        var cycles = new CycleMeasured[PromiseRuns.CyclesAYear];
        for (var i = 0; i < cycles.Length; i++)
        {
            cycles[i] = Cycle(i, random);
        }

        var watch = new DriftWatch(new AnalysisSettings { Washer = "w", Stations = Stations, FalseAlarmEvery = 10_000 });

        // Processor time: the bar is for one core, whatever else the machine does.
        var before = Environment.CpuUsage.TotalTime;
        foreach (var cycle in cycles)
        {
            watch.Accept(cycle);
        }

        return new SpeedResult(OfTheWasher.Length + (Stations * OfAStation.Length), cycles.Length, (Environment.CpuUsage.TotalTime - before).TotalSeconds, watch.Snapshot().Length);
    }

    private static CycleMeasured Cycle(int number, Random random)
    {
        var figures = OfTheWasher.Select(name => new Feature(name, 0, Value(random), 0.1)).ToList();
        for (var station = 1; station <= Stations; station++)
        {
            var at = station;
            figures.AddRange(OfAStation.Select(name => new Feature(name, at, Value(random), 0.1)));
        }

        var instant = new Instant(300_000_000L * number);
        return new CycleMeasured
        {
            Id = $"w-{number}/measured", Washer = "w", CycleId = $"w-{number}", At = TimeBounds.At(instant),
            Features = new CycleFeatures { Outcome = CycleOutcome.Completed, Started = instant, Ended = instant, Recipe = "r", RecipeVersion = 1, Kegs = [], Figures = figures },
        };
    }

    // About normal, and quickly.
    private static double Value(Random random) => random.NextDouble() + random.NextDouble() + random.NextDouble() + random.NextDouble();
}
