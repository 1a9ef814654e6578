using WashBridge.Core.Upkeep;
using WashBridge.Simulator.Faults;

namespace WashBridge.Benchmarks.Analysis.Years;

/// <summary>Draws episodes of a washer. Sizes are of the order of what a washer stands before it stops (common practice, no source).</summary>
internal sealed class EpisodeDraw(YearPlan plan, Random random)
{
    public const double AirBarLost = 3.4;
    public const double Co2BarLost = 0.9;
    private const double PumpSpeedLost = 0.2;
    private const double DeliveryLost = 0.5;
    private const double LineDrained = 0.5;
    private const double StrengthLost = 0.25;

    /// <summary>Longest drain of this washer when nothing is wrong, s; measured in its first cycles.</summary>
    public double DrainSeconds { get; set; } = 6;

    public EpisodeCourse Draw()
    {
        var station = 1 + random.Next(plan.Washer.Stations);
        var baths = plan.Washer.Plant.Baths;
        var bath = baths[random.Next(baths.Count)].Kind;
        return random.Next(12) switch
        {
            0 or 1 => Clogging(station),
            2 or 3 => Sticking(station),
            4 => Air(),
            5 => Co2(),
            6 => Liquid(),
            7 => Pump(),
            8 => Tube(bath),
            9 => CheckValve(bath),
            10 => Heater(),
            _ => Weak(bath),
        };
    }

    private EpisodeCourse Clogging(int station)
    {
        // To the time-out: so many times the drain time when new. By equal steps, or by equal shares.
        var times = plan.Washer.DrainTimeout.TotalSeconds / DrainSeconds;
        var asResistance = random.NextDouble() < 0.6;
        var wear = Wear(asResistance ? times - 1 : Math.Log(times), 500, 3_000);
        return Course(wear, EpisodeKind.CloggingValve, new Component(ComponentKind.DrainValve, "", station)) with
        {
            Station = station,
            Begin = cycle => [new DrainClogging { When = When.InCycle(cycle), Station = station, AsResistance = asResistance, Initial = wear.Initial, PerCycle = wear.PerCycle, Spread = wear.Spread, Path = wear.Path }],
            PutRight = when => [new DrainCleaned { When = when, Station = station, ForGood = true }],
            Work = random.Next(2) == 0 ? MaintenanceKind.Replaced : MaintenanceKind.Restored,
            LevelTitle = "resistance beyond that when new, as a multiple of it",
            Level = h => (1 / (1 - h.Stations[station - 1].Clogging)) - 1,
            EarlyAt = Early(times - 1),
            Delay = random.Next(3),
        };
    }

    private EpisodeCourse Sticking(int station)
    {
        // The unlucky drains, with 1.4 times the mean, are those that run into the time-out.
        var limit = (plan.Washer.DrainTimeout.TotalSeconds - DrainSeconds) / 1.4;
        var wear = Wear(limit, 500, 2_500);
        return Course(wear, EpisodeKind.StickingSensor, new Component(ComponentKind.DrainSensor, "", station)) with
        {
            Station = station,
            Begin = cycle => [new DrainSensorSticking { When = When.InCycle(cycle), Station = station, Initial = wear.Initial, PerCycle = wear.PerCycle, Spread = wear.Spread, Path = wear.Path }],
            PutRight = when => [new DrainSensorReplaced { When = when, Station = station, ForGood = true }],
            LevelTitle = "mean time for which the sensor sticks, s",
            Level = h => h.Stations[station - 1].StickingSeconds,
            EarlyAt = Early(limit),
            Delay = random.Next(3),
        };
    }

    private EpisodeCourse Air()
    {
        var wear = Wear(AirBarLost, 300, 1_500);
        return Course(wear, EpisodeKind.LowAir, null) with
        {
            Begin = cycle => [new AirFalling { When = When.InCycle(cycle), Initial = wear.Initial, PerCycle = wear.PerCycle, Spread = wear.Spread, Path = wear.Path }],
            PutRight = when => [new AirRestored { When = when, ForGood = true }],
            LevelTitle = "air pressure lost, bar",
            Level = h => plan.Washer.Plant.AirBar - h.AirBar,
            Limit = AirBarLost,
            EarlyAt = Early(AirBarLost),
        };
    }

    private EpisodeCourse Co2()
    {
        var wear = Wear(Co2BarLost, 300, 2_000);
        return Course(wear, EpisodeKind.LowCo2, new Component(ComponentKind.Co2Supply)) with
        {
            Begin = cycle => [new Co2Falling { When = When.InCycle(cycle), Initial = wear.Initial, PerCycle = wear.PerCycle, Spread = wear.Spread, Path = wear.Path }],
            PutRight = when => [new Co2BottleChanged { When = when, ForGood = true }],
            LevelTitle = "CO2 pressure lost at rest, bar",
            Level = h => plan.Washer.Plant.Co2Bar - h.Co2Bar,
            Limit = Co2BarLost,
            EarlyAt = Early(Co2BarLost),
            Delay = random.Next(13),
        };
    }

    private EpisodeCourse Liquid()
    {
        var (bar, more) = (plan.Washer.Plant.WaterBar, 0.8 + (0.8 * random.NextDouble()));
        var phases = plan.Programme.Phases.Where(p => p.Steps.Any(s => s.Kind == Core.Cycles.StepKind.WallSpray)).ToList();
        var from = random.Next(phases.Count);
        var edited = random.Next(2) == 0 ? [] : phases.Skip(from).Take(1 + random.Next(3)).ToList();
        var longer = 1.25 + (0.35 * random.NextDouble());
        IReadOnlyList<Fault> Set(When when, double factor) => [.. edited.Select(p => new SetpointEdited
        {
            When = when,
            Setpoint = p.Id + ".wall-spray",
            Value = TimeSpan.FromSeconds(Math.Round(factor * p.Steps.First(s => s.Kind == Core.Cycles.StepKind.WallSpray).Duration.TotalSeconds)),
        })];
        var untilPutRight = TimeSpan.FromDays(10_000);
        return new EpisodeCourse
        {
            Kind = EpisodeKind.MoreLiquid,
            IsGradual = false,
            Cycles = random.Next(200, 800),
            Begin = cycle => edited.Count > 0 ? Set(When.InCycle(cycle), longer) : [new WaterPressure { When = When.InCycle(cycle), Bar = bar + more, Duration = untilPutRight }],
            PutRight = when => edited.Count > 0 ? Set(when, 1) : [new WaterPressure { When = when, Bar = bar, Duration = untilPutRight }],
            LevelTitle = edited.Count > 0 ? "spray times, as a multiple of those approved" : "water pressure gained, bar",
            Level = edited.Count > 0 ? _ => longer : h => h.WaterBar - bar,
        };
    }

    private EpisodeCourse Pump()
    {
        var wear = Wear(-Math.Log(1 - PumpSpeedLost), 600, 3_000);
        return Course(wear, EpisodeKind.WornPump, new Component(ComponentKind.SprayPump)) with
        {
            Begin = cycle => [new PumpWear { When = When.InCycle(cycle), Initial = wear.Initial, PerCycle = wear.PerCycle, Spread = wear.Spread, Path = wear.Path }],
            PutRight = when => [new PumpReplaced { When = when, ForGood = true }],
            LevelTitle = "share of the speed lost: pressure falls with the square of what is left",
            Level = h => h.PumpWear,
            Limit = PumpSpeedLost,
            EarlyAt = Early(PumpSpeedLost),
            Delay = random.Next(13),
        };
    }

    private EpisodeCourse Tube(BathKind bath)
    {
        var wear = Wear(DeliveryLost, 800, 3_000);
        return Course(wear, EpisodeKind.DosingTube, new Component(ComponentKind.DosingTube, NameOf(bath))) with
        {
            Bath = bath,
            Begin = cycle => [new DosingTubeWear { When = When.InCycle(cycle), Bath = bath, Initial = wear.Initial, PerCycle = wear.PerCycle, Spread = wear.Spread, Path = wear.Path }],
            PutRight = when => [new DosingTubeReplaced { When = when, Bath = bath, ForGood = true }],
            LevelTitle = "share of the delivery lost",
            Level = h => 1 - h.Baths.Single(b => b.Bath == bath).DosingShare,
            Limit = DeliveryLost,
            EarlyAt = Early(DeliveryLost),
            Delay = random.Next(13),
        };
    }

    private EpisodeCourse CheckValve(BathKind bath)
    {
        var wear = Wear(LineDrained, 600, 2_500);
        return Course(wear, EpisodeKind.DosingCheckValve, new Component(ComponentKind.DosingCheckValve, NameOf(bath))) with
        {
            Bath = bath,
            Begin = cycle =>
            [
                new DosingCheckValveLeak
                {
                    // An oxidiser's valve ages by the hour of standing, the others' by the cycle.
                    When = When.InCycle(cycle), Bath = bath, Initial = wear.Initial, Spread = wear.Spread, Path = wear.Path,
                    PerCycle = bath == BathKind.Sanitiser ? 0 : wear.PerCycle,
                    PerStandingHour = bath == BathKind.Sanitiser ? wear.PerCycle * 3600 / 170 : 0,
                },
            ],
            PutRight = when => [new DosingCheckValveReplaced { When = when, Bath = bath, ForGood = true }],
            LevelTitle = "share of the dosing line that drains back in 1,000 s",
            Level = h => h.Baths.Single(b => b.Bath == bath).CheckValveLeak,
            Limit = LineDrained,
            EarlyAt = Early(LineDrained),
            Delay = random.Next(13),
        };
    }

    private EpisodeCourse Heater()
    {
        var wear = Wear(0.65, 800, 3_000);
        return Course(wear, EpisodeKind.Heater, new Component(ComponentKind.Heater, "caustic")) with
        {
            Bath = BathKind.Caustic,
            Begin = cycle => [new HeaterScaling { When = When.InCycle(cycle), Bath = BathKind.Caustic, Initial = wear.Initial, PerCycle = wear.PerCycle, Spread = wear.Spread, Path = wear.Path }],
            PutRight = when => [new HeaterDescaled { When = when, Bath = BathKind.Caustic, ForGood = true }],
            Work = MaintenanceKind.Restored,
            LevelTitle = "share of the power lost",
            Level = h => 1 - h.Baths[0].HeaterShare,
            EarlyAt = Early(0.6),
            Delay = random.Next(13),
        };
    }

    private EpisodeCourse Weak(BathKind bath)
    {
        double? whole = null;
        return new EpisodeCourse
        {
            Kind = EpisodeKind.WeakBath,
            Component = new Component(ComponentKind.Bath, NameOf(bath)),
            Bath = bath,
            IsGradual = true,
            Cycles = 500,
            Begin = cycle => [new DosingSwitched { When = When.InCycle(cycle), Bath = bath, Automatic = false }],
            PutRight = when => [new BathRenewed { When = when, Bath = bath }, new DosingSwitched { When = when, Bath = bath, Automatic = true }],
            LevelTitle = "share of the strength lost",
            Level = h =>
            {
                // Of what it was at first: where other chemicals are carried in, conductivity as a measure leaves a bath somewhat weaker than meant.
                var strength = h.Baths.Single(b => b.Bath == bath).StrengthPercent;
                return 1 - (strength / (whole ??= strength));
            },
            Limit = StrengthLost,
            EarlyAt = Early(StrengthLost),
            Delay = random.Next(5),
        };
    }

    private static string NameOf(BathKind bath) => bath.ToString().ToLowerInvariant();

    private static EpisodeCourse Course(WearDrawn wear, EpisodeKind kind, Component? component) => new()
    {
        Kind = kind,
        Component = component,
        IsGradual = wear.PerCycle > 0,
        Cycles = wear.Cycles,
        Begin = _ => [],
        PutRight = _ => [],
        LevelTitle = "",
        Level = _ => 0,
    };

    /// <summary>Three in ten are put right before they fail.</summary>
    private double Early(double limit) => random.NextDouble() < 0.3 ? limit * (0.4 + (0.5 * random.NextDouble())) : double.PositiveInfinity;

    /// <summary>Four in five are gradual: they pass the limit after some cycles, as an inverse Gaussian or a gamma process does, with a coefficient of variation between 0.03 and 0.25. The others come at once, to a quarter or two thirds of the limit, and stay.</summary>
    private WearDrawn Wear(double limit, int least, int most)
    {
        var path = random.Next(2) == 0 ? WearPath.Wiener : WearPath.Gamma;
        if (random.NextDouble() < 0.2)
        {
            return new WearDrawn(random.Next(200, 700), limit * (0.25 + (0.4 * random.NextDouble())), 0, 0, path);
        }

        var cycles = least * Math.Pow((double)most / least, random.NextDouble());
        var variation = 0.03 + (0.22 * random.NextDouble());
        return new WearDrawn((int)cycles, 0, limit / cycles, variation * limit / Math.Sqrt(cycles), path);
    }

    /// <param name="Cycles">To the limit, or, at once, to last.</param>
    private readonly record struct WearDrawn(int Cycles, double Initial, double PerCycle, double Spread, WearPath Path);
}
