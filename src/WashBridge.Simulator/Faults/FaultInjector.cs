using WashBridge.Simulator.Controller;
using WashBridge.Simulator.Physics;
using WashBridge.Simulator.Truth;

namespace WashBridge.Simulator.Faults;

/// <summary>Brings scheduled faults to the plant, the controller, the person or the link when their time comes, and takes them back.</summary>
internal sealed class FaultInjector
{
    private readonly PriorityQueue<Action<TimeSpan>, (TimeSpan At, int Order)> _due = new();
    private readonly List<Fault> _inCycle = [];
    private readonly WearAndTear _wear;
    private readonly Plant _plant;
    private readonly SequenceController _controller;
    private readonly Loader _loader;
    private readonly LinkState _link;
    private readonly TruthRecorder _truth;
    private TimeSpan _nextDue = TimeSpan.MaxValue;
    private int _order;
    private TrueCycle? _cycle;
    private TrueStep? _step;
    private TimeSpan _offUntil;

    public FaultInjector(IReadOnlyList<Fault> faults, Plant plant, SequenceController controller, Loader loader, LinkState link, TruthRecorder truth, int seed)
    {
        _plant = plant;
        _controller = controller;
        _loader = loader;
        _link = link;
        _truth = truth;
        _wear = new WearAndTear(plant, seed);
        foreach (var fault in faults)
        {
            Schedule(fault);
        }
    }

    /// <summary>One more. What should have begun already begins with the next scan; a place in a cycle that has passed is never reached.</summary>
    public void Schedule(Fault fault)
    {
        if (fault.When.Time is { } time)
        {
            At(time, now => Apply(fault, now));
        }
        else
        {
            _inCycle.Add(fault);
        }
    }

    /// <summary>Before the controller's scan at <paramref name="now"/>.</summary>
    public void BeforeScan(TimeSpan now)
    {
        while (now >= _nextDue)
        {
            _due.Dequeue()(now);
            _nextDue = _due.TryPeek(out _, out var next) ? next.At : TimeSpan.MaxValue;
        }
    }

    /// <summary>After the scan: cycle and step that began in it give times to what waits for them.</summary>
    public void AfterScan(TimeSpan now)
    {
        if (!ReferenceEquals(_truth.Current, _cycle))
        {
            _cycle = _truth.Current;
            if (_cycle is not null)
            {
                _wear.WearWithTheCycle();
                Release(now, w => w.Phase is null && w.Cycle == _cycle.Number);
            }
        }

        var step = _truth.Step;
        if (!ReferenceEquals(step, _step))
        {
            _step = step;
            if (step is { Pass: 1 } && _cycle is not null && _inCycle.Count > 0)
            {
                Release(now, w => w.Cycle == _cycle.Number && w.Phase == step.Phase && w.Step == step.Kind);
            }
        }
    }

    private void Release(TimeSpan now, Func<When, bool> begins)
    {
        for (var i = _inCycle.Count - 1; i >= 0; i--)
        {
            var fault = _inCycle[i];
            if (begins(fault.When))
            {
                _inCycle.RemoveAt(i);
                At(now + fault.When.After, due => Apply(fault, due));
            }
        }
    }

    private void At(TimeSpan time, Action<TimeSpan> act)
    {
        _due.Enqueue(act, (time, _order++));
        _nextDue = _nextDue < time ? _nextDue : time;
    }

    private void Apply(Fault fault, TimeSpan now)
    {
        switch (fault)
        {
            case GradualFault f:
                _wear.Begin(f);
                break;
            case Maintenance f:
                _wear.PutRight(f);
                break;
            case DrainSensorStuck f:
                During(now, f.Duration, f.Station, s => s.StuckDry = f.ReadsDry, s => s.StuckDry = null);
                break;
            case DrainSensorChatter f:
                During(now, f.Duration, f.Station, s => s.ChatterRate = f.Rate, s => s.ChatterRate = 0);
                break;
            case BathEmpty f:
                OnBath(f.Bath, b => b.RunsDry = true);
                At(now + f.Duration, _ => OnBath(f.Bath, b => b.RunsDry = false));
                break;
            case HeaterFailure f:
                OnBath(f.Bath, b => b.HeaterWorks = false);
                At(now + f.Duration, _ => OnBath(f.Bath, b => b.HeaterWorks = true));
                break;
            case WeakDosing f:
                OnBath(f.Bath, b => b.DosingShare = f.Share);
                break;
            case LowCo2 f:
                _plant.Co2SupplyBar = f.Bar;
                At(now + f.Duration, _ => _plant.Co2SupplyBar = _plant.Options.Co2Bar);
                break;
            case WaterPressure f:
                _plant.WaterStaticBar = f.Bar;
                At(now + f.Duration, _ => _plant.WaterStaticBar = _plant.Options.WaterBar);
                break;
            case LowAir f:
                _plant.AirSupplyBar = f.Bar;
                At(now + f.Duration, _ => _plant.AirSupplyBar = _plant.Options.AirBar);
                break;
            case DosingSwitched f:
                OnBath(f.Bath, b => b.AutomaticDosing = f.Automatic);
                break;
            case OperatorStop:
                _controller.Abort(now);
                break;
            case OperatorPause f:
                _controller.Pause(now);
                At(now + f.Duration, _controller.Resume);
                break;
            case PowerCut f:
                SwitchOff(now, f.Duration, resumes: false);
                break;
            case ControllerRestart f:
                SwitchOff(now, f.Duration, f.Resumes);
                break;
            case SetpointEdited f:
                _controller.Setpoints[f.Setpoint] = f.Value;
                break;
            case PhaseSwitched f:
                _controller.SwitchPhase(f.Phase, f.Enabled);
                break;
            case ProgrammeSelected f:
                _controller.Select(f.Number);
                break;
            case StationLeftEmpty f:
                _loader.LeaveEmpty(f.Station);
                break;
            case ConnectionLoss f:
                _link.Lose(now + f.Duration);
                break;
            case SlowReplies f:
                _link.Slow(now + f.Duration, f.Delay);
                break;
            case LinkFault f:
                _link.BridgeEvents.Enqueue((now, f));
                break;
            default:
                throw new ArgumentException($"unknown fault {fault.GetType().Name}");
        }
    }

    private void SwitchOff(TimeSpan now, TimeSpan duration, bool resumes)
    {
        var until = now + duration;
        _offUntil = until > _offUntil ? until : _offUntil;
        _controller.SwitchOff(now, resumes);
        _link.ControllerOff(_offUntil);
        At(until, later =>
        {
            if (later >= _offUntil && _controller.Mode == ControllerMode.Off)
            {
                _controller.SwitchOn();
            }
        });
    }

    private void During(TimeSpan now, TimeSpan duration, int station, Action<DrainSensor> begin, Action<DrainSensor> end)
    {
        OnSensors(station, begin);
        At(now + duration, _ => OnSensors(station, end));
    }

    private void OnSensors(int station, Action<DrainSensor> act)
    {
        for (var i = 0; i < _plant.Sensors.Count; i++)
        {
            if (station == 0 || _plant.Sensors.Count == 1 || station == i + 1)
            {
                act(_plant.Sensors[i]);
            }
        }
    }

    private void OnBath(BathKind kind, Action<Bath> act)
    {
        if (_plant.Bath(kind) is { } bath)
        {
            act(bath);
        }
    }
}
