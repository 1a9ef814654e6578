using MathNet.Numerics.Distributions;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Tests.Upkeep;

/// <summary>The figures of an invented washer with two stations, cycle by cycle; a test says what is worn. Same seed, same figures.</summary>
public sealed class InventedWasher(int seed)
{
    private static readonly (string Drain, double Litres)[] Drains = [("rinse/1", 2.2), ("caustic-wash/1", 4.1), ("rinse-after-caustic/1", 2.6), ("sanitise/1", 2.0)];
    private static readonly Instant Begin = Instant.Parse("2031-03-03T06:00:00Z");
    private readonly Random _random = new(seed);
    private readonly List<Feature> _figures = [];

    public int Cycle { get; private set; }

    public int RecipeVersion { get; set; } = 1;

    /// <summary>Resistance of the drain valve of station 2; 1: new.</summary>
    public double Resistance { get; set; } = 1;

    /// <summary>Mean time for which the drain sensor of station 2 sticks, s.</summary>
    public double Sticking { get; set; }

    /// <summary>Litres, as a multiple of what they were.</summary>
    public double Liquid { get; set; } = 1;

    /// <summary>The drain before which <see cref="Liquid"/> is another, such as <c>rinse/1</c>; empty: all.</summary>
    public string LiquidBefore { get; set; } = "";

    /// <summary>Control air, bar(a).</summary>
    public double Air { get; set; } = 7;

    /// <summary>Share of the pump's speed that is left.</summary>
    public double Pump { get; set; } = 1;

    /// <summary>Share of a dosing that comes out of the caustic's tube.</summary>
    public double Tube { get; set; } = 1;

    /// <summary>Seconds for which the caustic's dosing line has to be filled before anything comes.</summary>
    public double LineEmpty { get; set; }

    /// <summary>Caustic carried out of the bath between two dosings, as a multiple of what it was.</summary>
    public double Drawn { get; set; } = 1;

    /// <summary>Share of the heater's power that is left.</summary>
    public double Heater { get; set; } = 1;

    /// <summary>CO2 at rest, bar(a).</summary>
    public double Gas { get; set; } = 3.2;

    /// <summary>Strength of the caustic, as a multiple of what it was.</summary>
    public double Strength { get; set; } = 1;

    /// <summary>Not even the drain sensors are read.</summary>
    public bool IsBlind { get; set; }

    public static Instant EndOf(int cycle) => Begin + TimeSpan.FromMinutes(3.0 * cycle);

    public CycleMeasured Next()
    {
        Cycle++;
        _figures.Clear();
        if (!IsBlind)
        {
            for (var station = 1; station <= 2; station++)
            {
                AddDrains(station);
            }

            AddRest();
        }

        var end = EndOf(Cycle);
        return new CycleMeasured
        {
            Id = $"w1-{Cycle:D6}/measured",
            Washer = "w1",
            At = TimeBounds.At(end),
            CycleId = $"w1-{Cycle:D6}",
            Features = new CycleFeatures
            {
                Outcome = CycleOutcome.Completed,
                Started = end - TimeSpan.FromMinutes(2.5),
                Ended = end,
                Recipe = "standard",
                RecipeVersion = RecipeVersion,
                Kegs = [new(1, $"k{Cycle}a"), new(2, $"k{Cycle}b")],
                Figures = [.. _figures.OrderBy(f => f.Name, StringComparer.Ordinal).ThenBy(f => f.Station)],
            },
        };
    }

    public static MaintenanceRecorded Work(int cycle, string component, MaintenanceKind work, bool hadFailed = false) => new()
    {
        Id = $"w1-{cycle:D6}/maintenance/{component}",
        Washer = "w1",
        At = TimeBounds.At(EndOf(cycle) + TimeSpan.FromSeconds(5)),
        Component = Component.Parse(component),
        Work = work,
        By = "day mechanic",
        HadFailed = hadFailed,
    };

    private void AddDrains(int station)
    {
        var slow = (station == 2 ? Resistance : 1) * (1 + (0.12 * Math.Max(0, 6 - Air)));
        foreach (var (drain, litres) in Drains)
        {
            var seconds = 0.4 + (2.3 * litres * More(drain) * slow * Noise(0.02)) + (station == 2 && Sticking > 0 ? Sticking * (0.6 + (0.8 * _random.NextDouble())) : 0);
            Add("drain-time/" + drain, station, Math.Round(seconds, 1));
        }

        Add("drain-bounce", station, station == 2 && Sticking > 0 ? 1.2 + (0.5 * _random.NextDouble()) : 0.25 * _random.Next(3));
        Add("drain-wet-before", station, 0);
        Add("purge-high", station, 2.8 * Noise(0.003));
        Add("purge-rise", station, 1.05 * 3.2 / Gas * Noise(0.02));
    }

    private void AddRest()
    {
        foreach (var (drain, litres) in Drains)
        {
            Add("liquid/" + drain, 0, litres * More(drain) * Noise(0.004));
        }

        Add("air-pressure", 0, Air * Noise(0.004));
        Add("co2-rest", 0, Gas * Noise(0.004));
        Add("co2-flow", 0, (Gas - 0.13) * Noise(0.005));
        Add("spray-pressure/caustic", 0, 1.013 + (2.26 * Pump * Pump * Noise(0.004)));
        Add("spray-flow/caustic", 0, 32 * Pump * Noise(0.004));
        Add("spray-current/caustic", 0, 3.8 * Math.Pow(Pump, 1.5) * Noise(0.005));
        Add("spray-pressure/water", 0, 3.3 * Noise(0.02));
        Add("strength/caustic", 0, 122 * Strength * Noise(0.01));
        Add("heater-time/caustic", 0, 48 / Heater * Noise(0.05));
        Add("pump-run-time", 0, 39);
        Add("drain-valve-use", 0, 7);
        var pumped = 24 * Drawn / Tube;
        Add("dosing-time/caustic", 0, Cycle % 12 == 0 ? (pumped + LineEmpty) * Noise(0.05) : 0);
        if (Cycle % 12 == 0)
        {
            Add("dosing-response/caustic", 0, 0.049 * Tube * pumped / (pumped + LineEmpty) * Noise(0.05));
        }

        if (Cycle % 2 == 0)
        {
            Add("heat-up-rate/caustic", 0, 0.9 * Heater * Noise(0.05));
        }
    }

    private void Add(string name, int station, double value) => _figures.Add(new Feature(name, station, value, 0));

    private double More(string drain) => LiquidBefore.Length == 0 || LiquidBefore == drain ? Liquid : 1;

    private double Noise(double share) => 1 + (share * Normal.Sample(_random, 0, 1));
}
