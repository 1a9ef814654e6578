using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;

namespace WashBridge.Core.Tests.Cycles;

/// <summary>What really happened in one step; times in microseconds of true time.</summary>
internal sealed record TrueStep(int Cycle, string Phase, int Pass, StepKind Kind, long Start)
{
    public long End { get; set; }

    public List<(long Start, long End)> Pauses { get; } = [];

    /// <summary>When each station's sensor turned dry within the step; null: it did not. Minimum: dry all the time.</summary>
    public long?[] Dry { get; set; } = [];

    public long Held => End - Start - Pauses.Sum(p => p.End - p.Start);

    public long LongestStretch
    {
        get
        {
            var longest = 0L;
            var from = Start;
            foreach (var pause in Pauses)
            {
                longest = Math.Max(longest, pause.Start - from);
                from = pause.End;
            }

            return Math.Max(longest, End - from);
        }
    }
}

internal sealed record TrueCycle(int Number, long Start)
{
    public long End { get; set; }

    public CycleOutcome Outcome { get; set; }

    public List<TrueStep> Steps { get; } = [];
}

/// <summary>
/// A washer that runs a random programme, cycle after cycle, with passes, pauses, aborts and faults, and of which all is known.
/// It keeps to what the model promises: nothing is left and come back to within the gap limit, and no phase is shorter.
/// </summary>
internal sealed class RandomWasher
{
    private const int Stations = 2;
    private const double AbortChance = 0.02;
    private static readonly StepKind[][] Shapes =
    [
        [StepKind.WallSpray, StepKind.Drain],
        [StepKind.WallSpray, StepKind.SpearRinse, StepKind.Drain],
        [StepKind.WallSpray, StepKind.Hold, StepKind.Drain],
        [StepKind.Pressurise, StepKind.Vent],
    ];

    private readonly Random _random;
    private readonly long _gap;
    private readonly bool _pausedCode;
    private readonly Track<(int Code, bool Paused)> _positions = new((0, false));
    private readonly Track<bool>[] _sensors = [.. Enumerable.Range(0, Stations).Select(_ => new Track<bool>(true))];
    private readonly Track<int> _counts = new(100);
    private long _now = 2_000_000;

    public RandomWasher(int seed, int cycles)
    {
        _random = new Random(seed);
        _gap = (long)(1_000_000 * (0.5 + (2.5 * _random.NextDouble())));
        _pausedCode = _random.Next(2) == 0;
        HasCount = _random.Next(2) == 0;
        var phases = Enumerable.Range(0, _random.Next(2, 6)).Select(i => new PhaseDefinition($"phase-{i + 1}", (PhaseKind)_random.Next(6), Shapes[_random.Next(Shapes.Length)])).ToList();
        Model = new WasherModel
        {
            Washer = "w1",
            Stations = Stations,
            Programme = phases,
            Sequence = new StepTable(
                phases.SelectMany((p, i) => p.Steps.Select((s, j) => (Code: Code(i, j), Position: new ProgrammePosition(p.Id, s)))).ToDictionary(c => c.Code, c => c.Position),
                new HashSet<int> { 0 },
                new HashSet<int> { 90 },
                new HashSet<int> { 99 }),
            Signals =
            [
                Flag(0, "sequence.paused"), new Signal("w1", 0, "sequence.step", "", SignalType.Integer),
                Flag(1, "drain.dry"), Flag(2, "drain.dry"),
                .. HasCount ? [new Signal("w1", 0, "sequence.cycle-count", "", SignalType.Integer)] : Array.Empty<Signal>(),
            ],
            GapLimit = TimeSpan.FromMicroseconds(_gap),
        };
        var times = phases.Select(p => (Steps: p.Steps.Select(_ => Between(0.1, 12)).ToArray(), Passes: _random.Next(3) == 0 ? _random.Next(2, 4) : 1, Enabled: _random.Next(6) > 0)).ToArray();
        times[^1].Enabled = true;
        for (var i = 0; i < cycles; i++)
        {
            Run(i, times);
        }
    }

    public WasherModel Model { get; }

    public bool HasCount { get; }

    public List<TrueCycle> Cycles { get; } = [];

    public long End => _now;

    public double Read(Signal signal, long at) => signal.Name switch
    {
        "sequence.step" => _positions.At(at).Code,
        "sequence.paused" => _positions.At(at).Paused ? 1 : 0,
        "sequence.cycle-count" => _counts.At(at),
        _ => _sensors[signal.Station - 1].At(at) ? 1 : 0,
    };

    private void Run(int number, (long[] Steps, int Passes, bool Enabled)[] times)
    {
        var cycle = new TrueCycle(number, _now) { Outcome = CycleOutcome.Completed };
        Cycles.Add(cycle);
        _counts.Add(_now, 101 + number);
        for (var phase = 0; phase < times.Length && cycle.Outcome == CycleOutcome.Completed; phase++)
        {
            for (var pass = 1; times[phase].Enabled && pass <= times[phase].Passes && cycle.Outcome == CycleOutcome.Completed; pass++)
            {
                for (var step = 0; step < times[phase].Steps.Length && cycle.Outcome == CycleOutcome.Completed; step++)
                {
                    // A phase lasts longer than the gap limit; so does every step of a phase that is repeated.
                    var least = times[phase].Passes > 1 || step == 0 ? _gap + 100_000 : 0;
                    Run(cycle, phase, pass, step, Math.Max(times[phase].Steps[step], least));
                }
            }
        }

        cycle.End = _now;
        var fault = cycle.Outcome == CycleOutcome.Aborted && _random.Next(2) == 0;
        if (fault)
        {
            _positions.Add(_now, (99, false));
            _now += Between(0.05, 20);
        }

        _positions.Add(_now, (0, false));
        _now += Between(5, 25);
    }

    private void Run(TrueCycle cycle, int phase, int pass, int index, long length)
    {
        var definition = Model.Programme[phase];
        var step = new TrueStep(cycle.Number, definition.Id, pass, definition.Steps[index], _now);
        cycle.Steps.Add(step);
        _positions.Add(_now, (Code(phase, index), false));
        var isLast = phase == Model.Programme.Count - 1 && index == definition.Steps.Count - 1;
        // Not so soon that nobody could see the step at all.
        var isAborted = !isLast && length > _gap && _random.NextDouble() < AbortChance;
        length = isAborted ? _gap + (long)((length - _gap) * _random.NextDouble()) : length;
        if (_random.Next(12) == 0 && length > (2 * _gap) + 200_000)
        {
            var (before, paused) = (Between(cycle.Steps.Count > 1 ? 0.01 : _gap / 1e6, (length - _gap) / 1e6), Between(_gap / 1e6, 20));
            step.Pauses.Add((_now + before, _now + before + paused));
            _positions.Add(_now + before, (_pausedCode ? 90 : Code(phase, index), !_pausedCode));
            _positions.Add(_now + before + paused, (Code(phase, index), false));
            length += paused;
        }

        step.Dry = [.. _sensors.Select(s => step.Kind == StepKind.Drain ? Drain(s, length) : Wet(s))];
        _now += length;
        step.End = _now;
        if (isAborted)
        {
            cycle.Outcome = CycleOutcome.Aborted;
        }
    }

    private long? Drain(Track<bool> sensor, long length)
    {
        if (_random.Next(6) == 0)
        {
            sensor.Add(_now, true);
            return long.MinValue;
        }

        sensor.Add(_now, false);
        if (_random.Next(8) == 0)
        {
            return null;
        }

        var at = _now + (long)(length * (0.1 + (0.85 * _random.NextDouble())));
        sensor.Add(at, true);
        return at;
    }

    /// <summary>Whatever the sensor reads between drains must not matter.</summary>
    private long? Wet(Track<bool> sensor)
    {
        sensor.Add(_now, _random.Next(2) == 0);
        return null;
    }

    private long Between(double low, double high) => (long)(1e6 * (low + ((high - low) * _random.NextDouble())));

    private static int Code(int phase, int step) => (10 * (phase + 1)) + step + 1;

    private static Signal Flag(int station, string name) => new("w1", station, name, "", SignalType.Flag);

    /// <summary>A value over time.</summary>
    private sealed class Track<T>(T initial)
    {
        private readonly List<(long At, T Value)> _changes = [(long.MinValue, initial)];

        public void Add(long at, T value) => _changes.Add((at, value));

        public T At(long time)
        {
            var (low, high) = (0, _changes.Count - 1);
            while (low < high)
            {
                var middle = (low + high + 1) / 2;
                (low, high) = _changes[middle].At <= time ? (middle, high) : (low, middle - 1);
            }

            return _changes[low].Value;
        }
    }
}
