using WashBridge.Analysis.Tests.Charts;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Time;

namespace WashBridge.Benchmarks.Analysis.Charts;

/// <summary>A washer with nothing wrong whose figures are of all kinds.</summary>
internal sealed class MixedWasher
{
    public const int Stations = 2;

    private static readonly (string Name, double Centre, double Spread, string Kind)[] OfTheWasher =
    [
        ("air-pressure", 6.5, 0.05, "normal"), ("spray-pressure/caustic/2", 3.2, 0.04, "heavy"), ("spray-pressure/rinse/2", 2.8, 0.05, "ar 0.3"), ("co2-flow/2", 4, 0.05, "skewed"),
        ("co2-rest", 5, 0.02, "ar 0.6"), ("strength/caustic", 48, 0.8, "ar 0.6"), ("temperature-mean/caustic", 78, 0.1, "ar 0.9"), ("timing", 0.1, 0.1, "coarse"),
        ("dosing-time/caustic", 10, 1, "ar 0.6, a fifth missing"), ("level/caustic", 80, 1, "coarse ar 0.6"),
    ];

    private static readonly (string Name, double Centre, double Spread, string Kind)[] OfAStation =
    [
        ("purge-high", 2.5, 0.02, "normal"), ("purge-low", 1.1, 0.01, "normal"), ("purge-rise", 0.8, 0.05, "coarse"), ("drain-bounce", 0, 1, "count"), ("rinse-out/rinse", 0.02, 0.002, "skewed"),
    ];

    private static readonly (string Name, double Litres)[] Drains = [("rinse/1", 4.2), ("caustic/1", 6.3), ("rinse-after-caustic/1", 5.0), ("sanitise/1", 3.4)];

    private readonly List<(string Name, int Station, double Centre, double Spread, Plant Plant)> _figures = [];
    private readonly Plant _noise;
    private readonly string _washer;
    private int _cycle;

    public MixedWasher(int seed)
    {
        _washer = $"w{seed}";
        _noise = new Plant("normal", seed);
        _figures.AddRange(OfTheWasher.Select((f, i) => (f.Name, 0, f.Centre, f.Spread, new Plant(f.Kind, (100 * seed) + i))));
        for (var station = 1; station <= Stations; station++)
        {
            var number = station;
            _figures.AddRange(OfAStation.Select((f, i) => (f.Name, number, f.Centre, f.Spread, new Plant(f.Kind, (100 * seed) + (20 * number) + i))));
        }
    }

    /// <summary>Watched figures, the drain indices included.</summary>
    public static int Figures => OfTheWasher.Length + (Stations * (OfAStation.Length + 1));

    public CycleMeasured Next()
    {
        var figures = new List<Feature>(48);
        foreach (var (name, station, centre, spread, plant) in _figures)
        {
            if (plant.Next() is { } value)
            {
                figures.Add(new Feature(name, station, centre + (spread * value), 0.1 * spread));
            }
        }

        for (var station = 1; station <= Stations; station++)
        {
            foreach (var (name, usual) in Drains)
            {
                var litres = usual * (1 + (0.01 * _noise.Next()!.Value));
                figures.Add(new Feature("liquid/" + name, station, litres, 0.02));
                figures.Add(new Feature("drain-time/" + name, station, 0.6 + (1.1 * litres) + (0.1 * _noise.Next()!.Value), 0.05));
            }
        }

        var at = new Instant(1_900_000_000_000_000 + (300_000_000L * _cycle));
        var id = $"{_washer}-{_cycle++}";
        return new CycleMeasured
        {
            Id = id + "/measured", Washer = _washer, CycleId = id, At = TimeBounds.At(at),
            Features = new CycleFeatures
            {
                Outcome = CycleOutcome.Completed, Started = at - TimeSpan.FromMinutes(4), Ended = at, Recipe = "standard", RecipeVersion = 1, Kegs = [new(1, id + "-1"), new(2, id + "-2")], Figures = figures,
            },
        };
    }
}
