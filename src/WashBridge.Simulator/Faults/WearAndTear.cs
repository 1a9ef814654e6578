using WashBridge.Simulator.Physics;

namespace WashBridge.Simulator.Faults;

/// <summary>Everything that wears: begins with gradual faults, goes on with each cycle, and is put right by maintenance.</summary>
internal sealed class WearAndTear(Plant plant, int seed)
{
    private readonly List<Degradation> _going = [];
    private int _begun;

    public void Begin(GradualFault fault)
    {
        Worsen(fault, fault.Initial);
        if (fault is DosingCheckValveLeak leak)
        {
            OnBath(leak.Bath, b => b.TakeStanding()); // what stood before does not count
        }

        _going.Add(new Degradation(fault, DeterministicRandom.Stream(seed, "degradation " + _begun++)));
    }

    /// <summary>A cycle starts.</summary>
    public void WearWithTheCycle()
    {
        foreach (var degradation in _going)
        {
            var standing = degradation.Fault is DosingCheckValveLeak { PerStandingHour: > 0 } leak && plant.Bath(leak.Bath) is { } bath
                ? leak.PerStandingHour * bath.TakeStanding() / 3600
                : 0;
            Worsen(degradation.Fault, degradation.NextCycle(standing));
        }
    }

    public void PutRight(Maintenance work)
    {
        if (work.ForGood)
        {
            _going.RemoveAll(d => IsOf(work, d.Fault));
        }

        switch (work)
        {
            case DrainCleaned f:
                OnStations(f.Station, i => plant.DrainValve(i).Clean());
                break;
            case DrainSensorReplaced f:
                OnSensors(f.Station, s => s.Renew());
                break;
            case PumpReplaced:
                plant.Pump.Wear = 0;
                break;
            case AirRestored:
                plant.AirSupplyBar = plant.Options.AirBar;
                break;
            case Co2BottleChanged:
                plant.Co2SupplyBar = plant.Options.Co2Bar;
                break;
            case DosingTubeReplaced f:
                OnBath(f.Bath, b => b.TubeWear = 0);
                break;
            case DosingCheckValveReplaced f:
                OnBath(f.Bath, b => b.CheckValveLeak = 0);
                break;
            case HeaterDescaled f:
                OnBath(f.Bath, b => b.HeaterShare = 1);
                break;
            case BathRenewed f:
                OnBath(f.Bath, b => b.Renew());
                break;
            default:
                throw new ArgumentException($"unknown maintenance {work.GetType().Name}");
        }
    }

    private static bool IsOf(Maintenance work, GradualFault fault) => (work, fault) switch
    {
        (DrainCleaned w, DrainClogging f) => w.Station == 0 || w.Station == f.Station,
        (DrainSensorReplaced w, DrainSensorSticking f) => w.Station == 0 || w.Station == f.Station,
        (PumpReplaced, PumpWear) or (AirRestored, AirFalling) or (Co2BottleChanged, Co2Falling) => true,
        (DosingTubeReplaced w, DosingTubeWear f) => w.Bath == f.Bath,
        (DosingCheckValveReplaced w, DosingCheckValveLeak f) => w.Bath == f.Bath,
        (HeaterDescaled w, HeaterScaling f) => w.Bath == f.Bath,
        _ => false,
    };

    private void Worsen(GradualFault fault, double by)
    {
        switch (fault)
        {
            case DrainClogging { AsResistance: true } f:
                OnStations(f.Station, i => plant.DrainValve(i).Resist(by));
                break;
            case DrainClogging f:
                OnStations(f.Station, i => plant.DrainValve(i).Clog(by));
                break;
            case DrainSensorSticking f:
                OnSensors(f.Station, s => s.StickingSeconds = Math.Max(0, s.StickingSeconds + by));
                break;
            case PumpWear:
                plant.Pump.Wear = Math.Clamp(1 - ((1 - plant.Pump.Wear) * (1 - by)), 0, 0.9);
                break;
            case AirFalling:
                plant.AirSupplyBar = Fallen(plant.AirSupplyBar, plant.Options.AirBar, by);
                break;
            case Co2Falling:
                plant.Co2SupplyBar = Fallen(plant.Co2SupplyBar, plant.Options.Co2Bar, by);
                break;
            case DosingTubeWear f:
                OnBath(f.Bath, b => b.TubeWear = Math.Clamp(b.TubeWear + by, 0, 1));
                break;
            case DosingCheckValveLeak f:
                OnBath(f.Bath, b => b.CheckValveLeak = Math.Max(0, b.CheckValveLeak + by));
                break;
            case HeaterScaling f:
                OnBath(f.Bath, b => b.HeaterShare = Math.Clamp(b.HeaterShare - by, 0, 1));
                break;
            default:
                throw new ArgumentException($"unknown gradual fault {fault.GetType().Name}");
        }
    }

    /// <summary>A supply that falls does not rise above what it was when new.</summary>
    private static double Fallen(double bar, double whole, double by) => Math.Clamp(bar - by, Nature.AtmosphereBar, Math.Max(bar, whole));

    private void OnSensors(int station, Action<DrainSensor> act)
    {
        for (var i = 0; i < plant.Sensors.Count; i++)
        {
            if (station == 0 || plant.Sensors.Count == 1 || station == i + 1)
            {
                act(plant.Sensors[i]);
            }
        }
    }

    private void OnStations(int station, Action<int> act)
    {
        for (var i = 0; i < plant.Kegs.Length; i++)
        {
            if (station == 0 || station == i + 1)
            {
                act(i);
            }
        }
    }

    private void OnBath(BathKind kind, Action<Bath> act)
    {
        if (plant.Bath(kind) is { } bath)
        {
            act(bath);
        }
    }
}
