using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Protocols.Modbus;
using WashBridge.Simulator.Controller;
using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Physics;
using WashBridge.Simulator.Registers;
using WashBridge.Simulator.Truth;

namespace WashBridge.Simulator;

/// <summary>
/// One washer: its plant, its controller, the person who loads it, and the truth about it. Time is virtual and moves only when told to.
/// Safe to read as <see cref="Registers"/> from other threads while it is moved.
/// </summary>
public sealed class SimulatedWasher
{
    private readonly double _scanSeconds;
    private readonly int _scansToBathControl;
    private readonly ulong _noiseSeed;
    private readonly Instrument[] _instruments;
    private readonly MappedRegister[] _map;
    private readonly Loader _loader;
    private readonly FaultInjector _injector;
    private readonly TruthRecorder _truth;
    private TimeSpan _next;

    /// <exception cref="ArgumentException">An option is out of range or two contradict each other.</exception>
    public SimulatedWasher(WasherOptions options)
    {
        Options = options.Validated();
        _scanSeconds = options.Scan.TotalSeconds;
        _scansToBathControl = Math.Max(1, (int)Math.Round(1 / _scanSeconds));
        _noiseSeed = unchecked((ulong)options.Seed * 0x9E3779B97F4A7C15);
        _next = options.Scan;
        _truth = new TruthRecorder(options.Id, options.TruthCapacity, options.SharedDrainSensor);
        Plant = new Plant(options.Plant, options.Stations, options.SharedDrainSensor, options.Seed);
        Controller = new SequenceController(options, Plant, _truth);
        _loader = new Loader(options, Plant, Controller);
        Link = new LinkState();
        _injector = new FaultInjector(options.Faults, Plant, Controller, _loader, Link, _truth, options.Seed);
        _instruments = [.. InstrumentList.Of(options, Plant, Controller, _loader)];
        Map = _map = [.. MapBuilder.Build(_instruments, options.Layout)];
        Model = ModelBuilder.Build(options, Map);
        Registers = new RegisterImage(this);
    }

    public WasherOptions Options { get; }

    /// <summary>Where every signal lies.</summary>
    public IReadOnlyList<MappedRegister> Map { get; }

    /// <summary>What a segmenter must know of this washer.</summary>
    public WasherModel Model { get; }

    /// <summary>Its memory over Modbus.</summary>
    public IModbusDataSource Registers { get; }

    public LinkState Link { get; }

    /// <summary>The last scan's time.</summary>
    public TimeSpan Now { get; private set; }

    /// <summary>The truth about cycles that ended, oldest first; at most <see cref="WasherOptions.TruthCapacity"/>.</summary>
    public IReadOnlyCollection<TrueCycle> FinishedCycles => _truth.Finished;

    /// <summary>Older cycles that are no longer kept.</summary>
    public long DroppedCycles => _truth.Dropped;

    /// <summary>The truth about the cycle that runs, as far as it is known; null between cycles.</summary>
    public TrueCycle? CurrentCycle => _truth.Current;

    internal Lock Gate { get; } = new();

    internal long ScanNumber { get; private set; }

    internal Plant Plant { get; }

    internal SequenceController Controller { get; }

    /// <summary>Called within the scan in which a cycle ends.</summary>
    public event Action<TrueCycle>? CycleFinished
    {
        add => _truth.CycleFinished += value;
        remove => _truth.CycleFinished -= value;
    }

    /// <summary>Called after each scan with its time, while the washer is locked.</summary>
    internal event Action<TimeSpan>? Scanned;

    /// <summary>Runs every scan up to and including <paramref name="time"/>; earlier times change nothing.</summary>
    public void AdvanceTo(TimeSpan time)
    {
        lock (Gate)
        {
            while (_next <= time)
            {
                Scan(_next);
                _next += Options.Scan;
            }
        }
    }

    /// <summary>Has the person who loads it begin, where <see cref="WasherOptions.WaitsToBegin"/>: the first cycle follows <see cref="WasherOptions.FirstStart"/> after <paramref name="at"/>.</summary>
    /// <exception cref="InvalidOperationException">It does not wait.</exception>
    public void Begin(TimeSpan at)
    {
        lock (Gate)
        {
            if (!Options.WaitsToBegin || FinishedCycles.Count > 0 || CurrentCycle is not null)
            {
                throw new InvalidOperationException("it has begun already");
            }

            _loader.Begin(at);
        }
    }

    /// <summary>Adds a fault while it runs, as if it had been in <see cref="WasherOptions.Faults"/>. A time that is over counts as now; a place in a cycle that is over never comes.</summary>
    public void Schedule(Fault fault)
    {
        ArgumentNullException.ThrowIfNull(fault);
        lock (Gate)
        {
            _injector.Schedule(fault);
        }
    }

    /// <summary>What the last scan left in the registers of one signal, decoded: exactly what a reader of <see cref="Registers"/> gets.</summary>
    /// <param name="index">Place in <see cref="Map"/>.</param>
    public SignalValue Read(int index)
    {
        var register = _map[index];
        return register.Point.Type == RegisterType.Text
            ? SignalValue.Of(RawText(index))
            : new SignalValue(Raw(index) * register.Scale);
    }

    /// <summary>All that the signals of poll group 0 follow from: while it is the same, so are they.</summary>
    internal SequenceSignature Signature
    {
        get
        {
            var bits = (ulong)Controller.Outputs;
            for (var i = 0; i < Plant.Kegs.Length; i++)
            {
                bits |= Plant.Kegs[i] is null ? 0 : 1UL << (16 + i);
            }

            for (var i = 0; i < Plant.Sensors.Count; i++)
            {
                bits |= Plant.ReadsDry(i) ? 1UL << (24 + i) : 0;
            }

            for (var i = 0; i < Plant.Baths.Count; i++)
            {
                bits |= (Plant.Baths[i].DosingOn ? 1UL << (32 + i) : 0) | (Plant.Baths[i].HeaterOn ? 1UL << (36 + i) : 0);
            }

            return new SequenceSignature(bits, Controller.Mode, Controller.StepCode, Controller.Programme.Number, Controller.CycleCount);
        }
    }

    internal string RawText(int index) => _instruments[index].Text!();

    /// <summary>The number in the registers, before scaling.</summary>
    internal double Raw(int index)
    {
        var instrument = _instruments[index];
        var value = instrument.Read();
        if (instrument.Noise > 0)
        {
            value += instrument.Noise * DeterministicRandom.NoiseAt(_noiseSeed, index, ScanNumber);
        }

        var register = _map[index];
        return register.Point.Type switch
        {
            RegisterType.Float32 => (float)value,
            RegisterType.Int16 => Math.Clamp(Math.Round(value / register.Scale), short.MinValue, short.MaxValue),
            RegisterType.UInt16 => Math.Clamp(Math.Round(value / register.Scale), 0, ushort.MaxValue),
            _ => value,
        };
    }

    private void Scan(TimeSpan now)
    {
        Plant.Step(Controller.Outputs, _scanSeconds);
        _injector.BeforeScan(now);
        Controller.Scan(now);
        _loader.Scan(now);
        _injector.AfterScan(now);
        if (++ScanNumber % _scansToBathControl == 0)
        {
            Controller.ControlBaths();
        }

        Now = now;
        Scanned?.Invoke(now);
    }
}
