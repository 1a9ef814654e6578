using WashBridge.Analysis.Statistics;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Tests.Charts;

/// <summary>Cycles of a washer with three stations, as far as the charts see them.</summary>
internal sealed class WasherPlant(int seed)
{
    private static readonly string[] Drains = ["rinse/1", "caustic/1", "rinse-after-caustic/1", "sanitise/1"];
    private static readonly double[] Litres = [4.2, 6.3, 5.0, 3.4];
    private ulong _state = DeterministicHash.Of($"washer/{seed}");
    private int _cycle;

    public int RecipeVersion { get; set; } = 1;

    public double LitresFactor { get; set; } = 1;

    /// <summary>Share of the opening of station 2's drain valve that is lost.</summary>
    public double Clogged { get; set; }

    /// <summary>Added to the strength of the caustic, in its standard deviations.</summary>
    public double Stronger { get; set; }

    /// <summary>Added to the time of timed steps, in its standard deviations.</summary>
    public double Timing { get; set; }

    /// <summary>Added to the spray pressure and the flow of all stations.</summary>
    public double Pressure { get; set; }

    /// <summary>Added to the purge pressure of station 3.</summary>
    public double Purge3 { get; set; }

    /// <summary>Added to the purge pressure of station 1 and taken from that of station 2.</summary>
    public double Against { get; set; }

    public CycleMeasured Next(CycleOutcome outcome = CycleOutcome.Completed)
    {
        var figures = new List<Feature>
        {
            new("air-pressure", 0, 6.5 + (0.05 * Normal()), 0.01),
            new("spray-pressure/caustic", 0, 3.2 + (0.04 * (Normal() + Pressure)), 0.01),
            new("strength/caustic", 0, 48 + (0.8 * (Normal() + Stronger)), 0.2),
            new("temperature-mean/caustic", 0, 78 + (0.4 * Normal()), 0.1),
            new("timing", 0, Math.Round(0.4 * (Normal() + Timing), 1), 0.04),
            new("water-per-keg", 0, 20 + Normal(), 0.1),
        };
        var common = Normal();
        figures.Add(new("spray-flow/acid", 0, 30 + Normal() + (2 * common) + Against, 0.1));
        figures.Add(new("spray-flow/water", 0, 30 + Normal() + (2 * common) - Against, 0.1));
        for (var station = 1; station <= 3; station++)
        {
            figures.Add(new("purge-high", station, 2.5 + (0.02 * (Normal() + (2 * common) + (station == 3 ? Purge3 : 0))), 0.005));
            for (var i = 0; i < Drains.Length; i++)
            {
                var litres = Litres[i] * LitresFactor * (1 + (0.01 * Normal()));
                figures.Add(new($"liquid/{Drains[i]}", station, litres, 0.02));
                figures.Add(new($"drain-time/{Drains[i]}", station, 0.6 + (1.1 * litres / (1 - (station == 2 ? Clogged : 0))) + (0.1 * Normal()), 0.05));
            }
        }

        var at = new Instant(1_900_000_000_000_000 + (300_000_000L * _cycle));
        var id = $"w1-{_cycle++:D6}";
        return new CycleMeasured
        {
            Id = id + "/measured", Washer = "w1", CycleId = id, At = new TimeBounds(at, at),
            Features = new CycleFeatures
            {
                Outcome = outcome, Started = at - TimeSpan.FromMinutes(4), Ended = at, Recipe = "standard", RecipeVersion = RecipeVersion, Figures = figures,
                Kegs = [new(1, id + "-k1"), new(2, id + "-k2"), new(3, id + "-k3")],
            },
        };
    }

    public static MaintenanceRecorded Work(Component component, MaintenanceKind work) => new()
    {
        Id = "work-1", Washer = "w1", At = new TimeBounds(new Instant(5), new Instant(5)), Component = component, Work = work, By = "t",
    };

    private double Normal()
    {
        _state = DeterministicHash.Combine(_state, 11);
        return StandardNormal.Quantile(DeterministicHash.Uniform(_state));
    }
}
