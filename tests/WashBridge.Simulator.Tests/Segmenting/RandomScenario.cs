using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Polling;
using WashBridge.Simulator.Programmes;

namespace WashBridge.Simulator.Tests.Segmenting;

/// <summary>A washer, its mishaps and a bridge that reads it, all from one seed.</summary>
internal static class RandomScenario
{
    public static readonly TimeSpan Length = TimeSpan.FromMinutes(25);

    private static readonly WasherProgramme[] Programmes =
        [InventedProgrammes.Full, InventedProgrammes.WithoutAcid, InventedProgrammes.Repeated, InventedProgrammes.Plain, InventedProgrammes.Steam];

    /// <param name="seed">Of everything.</param>
    /// <param name="faults">How many mishaps at most.</param>
    public static WasherOptions Washer(int seed, int faults)
    {
        var random = new Random(seed);
        var programme = Programmes[random.Next(Programmes.Length)];
        if (programme.Number is 2 or 3)
        {
            programme = programme with { Number = 1 };
        }

        return new WasherOptions
        {
            Id = "w1",
            Seed = seed,
            Stations = random.Next(1, 4),
            Scan = TimeSpan.FromMilliseconds(100),
            Programmes = [programme],
            Sequence = (SequenceOutput)random.Next(2),
            Instrumentation = Instrumentation.Poor,
            Layout = (RegisterLayout)random.Next(2),
            SharedDrainSensor = random.Next(3) == 0,
            PassInCode = random.Next(2) == 0,
            PausedCode = random.Next(2) == 0,
            KegIds = random.Next(2) == 0,
            EmptyStationChance = 0.1,
            Faults = [.. Enumerable.Range(0, random.Next(faults + 1)).Select(_ => Fault(random, programme))],
        };
    }

    public static PollerOptions Poller(int seed)
    {
        var random = new Random(seed + 1);
        var sequence = random.Next(50, 500);
        return new PollerOptions
        {
            Seed = seed,
            Groups =
            [
                new VirtualPollGroup(0, TimeSpan.FromMilliseconds(sequence), TimeSpan.FromSeconds(10)),
                new VirtualPollGroup(1, TimeSpan.FromMilliseconds(random.Next(400, 1500)), TimeSpan.FromSeconds(30)),
                new VirtualPollGroup(2, TimeSpan.FromSeconds(2), TimeSpan.FromSeconds(60)),
            ],
            DelayMaximum = TimeSpan.FromMilliseconds(random.Next(2, 60)),
            LostChance = random.NextDouble() * 0.05,
            FailureChance = random.Next(2) == 0 ? 0 : random.NextDouble() * 0.002,
        };
    }

    /// <summary>Pauses are longer than the gap limit: the model says that nothing shorter is told from a lost poll.</summary>
    private static Fault Fault(Random random, WasherProgramme programme)
    {
        TimeSpan Between(double low, double high) => TimeSpan.FromSeconds(low + ((high - low) * random.NextDouble()));
        var when = When.At(Between(5, Length.TotalSeconds - 10));
        return random.Next(13) switch
        {
            0 => new ConnectionLoss { When = when, Duration = Between(0.5, 80) },
            1 => new ConnectionLoss { When = when, Duration = Between(0.5, 20) },
            2 => new OperatorStop { When = when },
            3 => new OperatorPause { When = when, Duration = Between(3.5, 40) },
            4 => new PowerCut { When = when, Duration = Between(0.5, 30) },
            5 => new ControllerRestart { When = when, Duration = Between(0.5, 30), Resumes = random.Next(2) == 0 },
            6 => new ClockStep { When = when, Shift = Between(-4000, 4000) },
            7 => new BridgeRestart { When = when, Duration = Between(1, 70), ShiftKnown = random.Next(3) > 0, Shift = Between(-100, 100) },
            8 => new SlowReplies { When = when, Duration = Between(5, 30), Delay = Between(0.1, 0.95) },
            9 => new DrainSensorStuck { When = when, Duration = Between(5, 60), ReadsDry = random.Next(2) == 0 },
            10 => new DrainSensorChatter { When = when, Duration = Between(20, 200), Rate = 0.5 + (5 * random.NextDouble()) },
            11 => programme.Phases.Any(p => p.Id == "sanitise")
                ? new SetpointEdited { When = when, Setpoint = "sanitise.hold", Value = Between(5, 40) }
                : new OperatorStop { When = when },
            _ => new DrainClogging { When = when, Initial = 0.8 * random.NextDouble() },
        };
    }
}
