using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Polling;
using WashBridge.Simulator.Programmes;

namespace WashBridge.Simulator.Tests.Judging;

/// <summary>Washers, connections and mishaps by the hundred, each fixed by its seed.</summary>
internal static class RandomWashers
{
    private static readonly WasherProgramme[] Programmes = [InventedProgrammes.Full, InventedProgrammes.Plain, InventedProgrammes.Repeated];

    /// <summary>Limits that the programmes meet, but not by much.</summary>
    public static Recipe Recipe { get; } = new()
    {
        Id = "standard",
        Version = 1,
        Requirements =
        [
            new ContactTime
            {
                Id = "dwell", AtLeast = TimeSpan.FromSeconds(38),
                From = new("sanitise", StepKind.WallSpray, EdgeSide.Start), To = new("sanitise", StepKind.Hold, EdgeSide.End),
            },
            new StepTime { Id = "hold", Phase = "sanitise", Step = StepKind.Hold, AtLeast = TimeSpan.FromSeconds(32) },
            new StepTime { Id = "caustic", Phase = "caustic-wash", Step = StepKind.WallSpray, AtLeast = TimeSpan.FromSeconds(11), Total = true },
            new PassCount { Id = "passes", Phase = "rinse-after-caustic", AtLeast = 1 },
            new SwingCount { Id = "swings", Phase = "purge", AtLeast = 3 },
            new PhaseOrder { Id = "order", Phases = ["rinse", "caustic-wash", "rinse-after-caustic", "sanitise", "purge"] },
            new DrainLimit { Id = "drain", AtMost = TimeSpan.FromSeconds(12) },
            new ResidualOxygen { Id = "oxygen", Phase = "purge", AtMost = 0.025, SensorUncertainty = 0.014 },
        ],
    };

    public static (WasherOptions Washer, PollerOptions Polling) Good(int seed)
    {
        var random = new Random(seed);
        var washer = Washer(random, seed);
        return (washer, new PollerOptions { Seed = seed, Groups = [new(0, TimeSpan.FromMilliseconds(100), TimeSpan.FromSeconds(10)), new(1, TimeSpan.FromMilliseconds(200), TimeSpan.FromSeconds(30)), new(2, TimeSpan.FromSeconds(1), TimeSpan.FromSeconds(60))] });
    }

    public static (WasherOptions Washer, PollerOptions Polling) Faulty(int seed)
    {
        var random = new Random(seed);
        var washer = Washer(random, seed);
        var faults = Enumerable.Range(0, random.Next(0, 5)).Select(_ => Mishap(random, washer.Programmes[0])).ToList();

        // Valve bits cannot tell one rinse from another when the wash between them is switched off.
        faults.RemoveAll(f => f is PhaseSwitched && washer.Sequence == SequenceOutput.ValveBits);
        var every = TimeSpan.FromMilliseconds(random.Next(3) switch { 0 => 100, 1 => 500, _ => random.Next(100, 2500) });
        var polling = new PollerOptions
        {
            Seed = seed,
            Groups = [new(0, every, TimeSpan.FromSeconds(10)), new(1, TimeSpan.FromMilliseconds(random.Next(200, 2000)), TimeSpan.FromSeconds(30)), new(2, TimeSpan.FromSeconds(2), TimeSpan.FromSeconds(60))],
            LostChance = random.Next(3) == 0 ? random.NextDouble() * 0.3 : 0,
            FailureChance = random.Next(3) == 0 ? random.NextDouble() * 0.05 : 0,
        };
        return (washer with { Faults = faults }, polling);
    }

    private static WasherOptions Washer(Random random, int seed) => new()
    {
        Id = "w1",
        Seed = seed,
        Stations = random.Next(1, 4),
        Scan = TimeSpan.FromMilliseconds(100),
        Programmes = [Programmes[random.Next(Programmes.Length)]],
        Sequence = random.Next(3) == 0 ? SequenceOutput.ValveBits : SequenceOutput.StepCode,
        Layout = (RegisterLayout)random.Next(2),
        SharedDrainSensor = random.Next(3) == 0,
        KegIds = random.Next(2) == 0,
        PassInCode = random.Next(2) == 0,
        PausedCode = random.Next(2) == 0,
        FirstStart = TimeSpan.FromSeconds(random.Next(5, 20)),
    };

    private static Fault Mishap(Random random, WasherProgramme programme)
    {
        var phase = programme.Phases[random.Next(programme.Phases.Count)];
        phase = random.Next(3) == 0 ? programme.Phases.Single(p => p.Id == "sanitise") : phase;
        var step = phase.Steps[random.Next(phase.Steps.Count)].Kind;
        var when = When.InStep(random.Next(1, 3), phase.Id, step, Seconds(0, 8));
        return random.Next(18) switch
        {
            0 or 1 => new ConnectionLoss { When = when, Duration = Seconds(0.5, 90) },
            2 => new SlowReplies { When = when, Duration = Seconds(1, 60), Delay = Seconds(0.1, 2) },
            3 or 4 => new ClockStep { When = when, Shift = Seconds(-120, 120) },
            5 or 6 => new BridgeRestart { When = when, Duration = Seconds(1, 60), ShiftKnown = random.Next(2) == 0, Shift = Seconds(-60, 60) },
            7 or 17 => new OperatorPause { When = when, Duration = Seconds(1, 60) },
            8 => new OperatorStop { When = when },
            9 => new PowerCut { When = when, Duration = Seconds(1, 60) },
            10 => new ControllerRestart { When = when, Duration = Seconds(0.5, 20), Resumes = random.Next(2) == 0 },
            11 or 12 => new SetpointEdited { When = When.InCycle(random.Next(1, 3)), Setpoint = "sanitise.hold", Value = Seconds(25, 36) },
            13 => new PhaseSwitched { When = When.At(TimeSpan.FromSeconds(1)), Phase = phase.Id, Enabled = false },
            14 => new DrainClogging { When = When.InCycle(1), Station = random.Next(0, 2), Initial = random.NextDouble() * 0.8 },
            15 => new DrainSensorChatter { When = when, Duration = Seconds(1, 30) },
            _ => new LowCo2 { When = when, Bar = 1.2 + (2 * random.NextDouble()), Duration = Seconds(10, 120) },
        };

        TimeSpan Seconds(double from, double to) => TimeSpan.FromSeconds(from + ((to - from) * random.NextDouble()));
    }
}
