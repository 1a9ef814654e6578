using WashBridge.Core.Cycles;
using WashBridge.Simulator.Physics;
using WashBridge.Simulator.Programmes;
using WashBridge.Simulator.Truth;

namespace WashBridge.Simulator.Controller;

internal enum ControllerMode
{
    Idle = 0,
    Running = 1,
    Paused = 2,
    Fault = 3,

    /// <summary>Without power, or booting.</summary>
    Off = 4,
}

/// <summary>The washer's controller: reads its inputs, decides and writes its outputs and registers once a scan.</summary>
internal sealed class SequenceController
{
    private readonly WasherOptions _options;
    private readonly Plant _plant;
    private readonly TruthRecorder _truth;
    private readonly Dictionary<string, bool> _switched = [];
    private readonly TimeSpan[] _dryFor;
    private SequenceSlot[] _slots = [];
    private int _at;
    private TimeSpan _elapsed;
    private ControllerMode _beforeOff;

    public SequenceController(WasherOptions options, Plant plant, TruthRecorder truth)
    {
        _options = options;
        _plant = plant;
        _truth = truth;
        _dryFor = new TimeSpan[plant.Sensors.Count];
        Programme = options.Programmes[0];
        LoadSetpoints();
    }

    public ControllerMode Mode { get; private set; }

    public WasherProgramme Programme { get; private set; }

    public Dictionary<string, TimeSpan> Setpoints { get; } = [];

    /// <summary>Kept through power cuts.</summary>
    public long CycleCount { get; private set; } = 4200;

    /// <summary>Kept through power cuts.</summary>
    public long DrainValveCount { get; private set; }

    public Outputs Outputs { get; private set; }

    public SequenceSlot? Slot => Mode is ControllerMode.Running or ControllerMode.Paused ? _slots[_at] : null;

    public int StepCode => Mode switch
    {
        ControllerMode.Running => _slots[_at].Code,
        ControllerMode.Paused => _options.PausedCode ? Codes.Paused : _slots[_at].Code,
        ControllerMode.Fault => Codes.Fault,
        _ => Codes.Idle,
    };

    public void Scan(TimeSpan now)
    {
        if (Mode == ControllerMode.Running)
        {
            _elapsed += _options.Scan;
            if (_slots[_at].Kind == StepKind.Drain)
            {
                ScanDrain(now);
            }
            else if (_elapsed >= Setpoints[_slots[_at].Setpoint])
            {
                Advance(now);
            }
        }
    }

    /// <summary>Thermostats and dosing; slow, and independent of the programme.</summary>
    public void ControlBaths()
    {
        foreach (var bath in _plant.Baths)
        {
            if (Mode == ControllerMode.Off)
            {
                bath.HeaterOn = bath.DosingOn = false;
                continue;
            }

            bath.HeaterOn = bath.HasHeater && (bath.HeaterOn ? bath.ProbeCel < bath.TargetCel + 0.5 : bath.ProbeCel < bath.TargetCel - 0.5);
            bath.DosingOn = bath.AutomaticDosing
                && (bath.DosingOn ? bath.ProbeConductivity < bath.TargetConductivity : bath.ProbeConductivity < 0.97 * bath.TargetConductivity);
        }
    }

    public void StartCycle(TimeSpan now, IReadOnlyList<TrueKeg> kegs)
    {
        _slots = SequenceSlot.Flatten(_options, Programme, _switched);
        CycleCount++;
        Mode = ControllerMode.Running;
        _truth.CycleStarted(now, CycleCount, Programme.Number, kegs);
        Begin(0, now);
    }

    /// <summary>A person stops the programme: idle at once.</summary>
    public void Abort(TimeSpan now) => End(now, TrueOutcome.Aborted, ControllerMode.Idle);

    public void AcknowledgeFault()
    {
        if (Mode == ControllerMode.Fault)
        {
            Mode = ControllerMode.Idle;
        }
    }

    public void Pause(TimeSpan now)
    {
        if (Mode == ControllerMode.Running)
        {
            Mode = ControllerMode.Paused;
            Outputs = Outputs.None;
            _truth.Paused(now);
        }
    }

    public void Resume(TimeSpan now)
    {
        if (Mode == ControllerMode.Paused)
        {
            Mode = ControllerMode.Running;
            Outputs = _slots[_at].Outputs;
            _truth.Resumed(now);
        }
        else if (Mode == ControllerMode.Off && _beforeOff == ControllerMode.Paused)
        {
            _beforeOff = ControllerMode.Running; // released while it boots: it goes on when it is back
            _truth.Resumed(now);
        }
    }

    /// <param name="now">When.</param>
    /// <param name="resumes">It will go on where it was.</param>
    public void SwitchOff(TimeSpan now, bool resumes)
    {
        if (!resumes)
        {
            End(now, TrueOutcome.PowerLost, ControllerMode.Idle);
            _beforeOff = ControllerMode.Idle;
        }
        else if (Mode != ControllerMode.Off)
        {
            _beforeOff = Mode;
        }

        Mode = ControllerMode.Off;
        Outputs = Outputs.None;
    }

    public void SwitchOn()
    {
        Mode = _beforeOff;
        Outputs = Mode == ControllerMode.Running ? _slots[_at].Outputs : Outputs.None;
    }

    public void SwitchPhase(string phase, bool enabled) => _switched[phase] = enabled;

    public void Select(int programme)
    {
        Programme = _options.Programmes.First(p => p.Number == programme);
        LoadSetpoints();
    }

    private void ScanDrain(TimeSpan now)
    {
        _truth.DrainScanned(now, _plant);
        var confirmed = true;
        for (var i = 0; i < _dryFor.Length; i++)
        {
            _dryFor[i] = _plant.ReadsDry(i) ? _dryFor[i] + _options.Scan : TimeSpan.Zero;
            confirmed &= _dryFor[i] >= _options.DryConfirmation;
        }

        if (confirmed && _elapsed >= _options.DrainMinimum)
        {
            Advance(now);
        }
        else if (_elapsed >= _options.DrainTimeout)
        {
            End(now, TrueOutcome.Faulted, ControllerMode.Fault);
        }
    }

    private void Advance(TimeSpan now)
    {
        _truth.StepEnded(now, _plant, interrupted: false);
        if (_at + 1 < _slots.Length)
        {
            Begin(_at + 1, now);
            return;
        }

        Mode = ControllerMode.Idle;
        Outputs = Outputs.None;
        _truth.CycleEnded(now, TrueOutcome.Completed, _plant);
    }

    private void Begin(int slot, TimeSpan now)
    {
        _at = slot;
        _elapsed = TimeSpan.Zero;
        Outputs = _slots[slot].Outputs;
        _truth.StepStarted(now, _slots[slot]);
        if (_slots[slot].Kind == StepKind.Drain)
        {
            Array.Clear(_dryFor);
            DrainValveCount++;
            _truth.DrainStarted(now, _slots[slot], _plant);
            _truth.DrainScanned(now, _plant);
        }
    }

    private void End(TimeSpan now, TrueOutcome outcome, ControllerMode mode)
    {
        if (Mode is not (ControllerMode.Running or ControllerMode.Paused) && !(Mode == ControllerMode.Off && _beforeOff is ControllerMode.Running or ControllerMode.Paused))
        {
            return;
        }

        if (Mode == ControllerMode.Off)
        {
            _beforeOff = mode; // a power cut while it boots to go on
        }
        else
        {
            Mode = mode;
        }

        Outputs = Outputs.None;
        _truth.Resumed(now);
        _truth.StepEnded(now, _plant, interrupted: true);
        _truth.CycleEnded(now, outcome, _plant);
    }

    private void LoadSetpoints()
    {
        foreach (var phase in Programme.Phases)
        {
            foreach (var step in phase.Steps.Where(s => s.Kind != StepKind.Drain))
            {
                Setpoints[WasherProgramme.SetpointName(phase.Id, step.Kind)] = step.Duration;
            }
        }
    }
}
