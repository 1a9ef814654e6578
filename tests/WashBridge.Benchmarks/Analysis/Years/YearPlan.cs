using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Simulator;
using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Physics;
using WashBridge.Simulator.Polling;
using WashBridge.Simulator.Programmes;

namespace WashBridge.Benchmarks.Analysis.Years;

/// <summary>A washer and a bridge that reads it, from one seed. Every third washer has a year without faults.</summary>
internal sealed class YearPlan
{
    /// <summary>Recorded.</summary>
    public const int Cycles = 25_000;

    /// <summary>Before anybody reads: baths become as warm, as full and as strong as they stay, which takes more than a thousand cycles.</summary>
    public static readonly TimeSpan WarmUp = TimeSpan.FromHours(60);

    public YearPlan(int seed)
    {
        Seed = seed;
        var random = new Random(seed);
        IsFaultFree = seed % 3 == 0;
        var hold = 12 + random.Next(5);
        var programme = random.NextDouble() switch
        {
            < 0.4 => InventedProgrammes.Full,
            < 0.95 => InventedProgrammes.Plain,
            _ => InventedProgrammes.Repeated,
        };
        Programme = programme with { Number = 1, Phases = [.. programme.Phases.Select(p => Vary(p, random, hold))] };
        var hasAcid = Programme.Phases.Any(p => p.Kind == PhaseKind.AcidWash);
        Washer = new WasherOptions
        {
            Id = $"w{seed}",
            Seed = seed,
            Stations = random.NextDouble() < 0.85 ? 2 : 3,
            Scan = TimeSpan.FromMilliseconds(random.Next(3) switch { 0 => 100, 1 => 150, _ => 200 }),
            Programmes = [Programme],
            Layout = random.NextDouble() < 0.7 ? RegisterLayout.Wide : RegisterLayout.Packed,
            PassInCode = random.Next(2) == 0,
            PausedCode = random.Next(2) == 0,
            KegIds = random.Next(2) == 0,
            LoadMinimum = TimeSpan.FromSeconds(7),
            LoadMaximum = TimeSpan.FromSeconds(11),
            EmptyStationChance = 0.02 * random.NextDouble(),
            TruthCapacity = 4,
            Plant = new PlantOptions
            {
                Day = 2 * ShiftClock.Length,
                KegLitres = random.Next(3) switch { 0 => 20, 1 => 30, _ => 50 },
                WaterBar = 3.7 + (0.6 * random.NextDouble()),
                Co2Bar = 3.0 + (0.4 * random.NextDouble()),
                DrainAssistBar = 1.31 + (0.08 * random.NextDouble()),
                PumpShutoffBar = 3.0 + (0.4 * random.NextDouble()),
                Baths =
                [
                    new(BathKind.Caustic, 70 + random.Next(60), 1.5 + random.NextDouble(), 65 + random.Next(10), 9 + random.Next(4), true),
                    .. hasAcid ? [new BathOptions(BathKind.Acid, 50 + random.Next(40), 0.6 + (0.5 * random.NextDouble()), 20, 0, true)] : Array.Empty<BathOptions>(),
                    new(BathKind.Sanitiser, 50 + random.Next(40), 0.8 + (0.5 * random.NextDouble()), 20, 0, true),
                ],
            },
        };
        Polling = new PollerOptions
        {
            Seed = seed,
            Begin = WarmUp,
            Start = ShiftClock.Start - WarmUp,
            Groups =
            [
                new(0, TimeSpan.FromMilliseconds(random.Next(3) switch { 0 => 250, 1 => 400, _ => 500 }), TimeSpan.FromSeconds(20)),
                new(1, TimeSpan.FromSeconds(1), TimeSpan.FromSeconds(30)),
                new(2, TimeSpan.FromSeconds(5), TimeSpan.FromSeconds(60)),
            ],
            LostChance = 0.002 * random.NextDouble(),
            FailureChance = 0.00001 * random.NextDouble(),
        };
    }

    public int Seed { get; }

    public bool IsFaultFree { get; }

    public WasherProgramme Programme { get; }

    public WasherOptions Washer { get; }

    public PollerOptions Polling { get; }

    public IReadOnlyDictionary<string, double> Limits => new SortedDictionary<string, double>(StringComparer.Ordinal)
    {
        ["air-pressure"] = Washer.Plant.AirBar - EpisodeDraw.AirBarLost,
        ["co2-rest"] = Washer.Plant.Co2Bar - EpisodeDraw.Co2BarLost,
    };

    public string Description => $"{Programme.Title}, {Washer.Stations} stations, {Washer.Plant.KegLitres} L, {Washer.Layout}, polled every {Polling.Groups[0].Every.TotalMilliseconds} ms";

    /// <summary>What the programme meets, but not by much.</summary>
    public Recipe RecipeOf(int version) => new()
    {
        Id = "standard",
        Version = version,
        Requirements =
        [
            new StepTime { Id = "hold", Phase = "sanitise", Step = StepKind.Hold, AtLeast = TimeSpan.FromSeconds(9) },
            new TimeBeyond
            {
                Id = "hot", Signal = "temperature.caustic", Value = Washer.Plant.Baths[0].Cel - 5, Phases = ["caustic-wash"], AtLeast = TimeSpan.FromSeconds(8), SensorUncertainty = 0.2,
            },
            new SwingCount { Id = "swings", Phase = "purge", AtLeast = 3 },
            new DrainLimit { Id = "drain", AtMost = Washer.DrainTimeout },
        ],
    };

    /// <summary>What follows a chemical is rinsed twice: once carries so much on that conductivity tells nothing of the next bath.</summary>
    private static PhaseSpecification Vary(PhaseSpecification phase, Random random, int hold) => phase with
    {
        Passes = phase.Id.StartsWith("rinse-after", StringComparison.Ordinal) ? 2 : phase.Passes,
        Steps = [.. phase.Steps.Select(s => s.Kind switch
        {
            StepKind.Hold => StepSpecification.Of(StepKind.Hold, hold),
            StepKind.WallSpray when phase.Id.StartsWith("rinse-after", StringComparison.Ordinal) => StepSpecification.Of(StepKind.WallSpray, random.Next(4, 7)),
            StepKind.SpearRinse when phase.Id.StartsWith("rinse-after", StringComparison.Ordinal) => StepSpecification.Of(StepKind.SpearRinse, 2),
            StepKind.WallSpray => StepSpecification.Of(StepKind.WallSpray, Math.Max(4, s.Duration.TotalSeconds + random.Next(-2, 2))),
            _ => s,
        })],
    };
}
