using WashBridge.Simulator.Physics;
using WashBridge.Simulator.Truth;

namespace WashBridge.Simulator.Controller;

/// <summary>The person at the washer: takes kegs off, puts kegs on, presses start, acknowledges faults.</summary>
internal sealed class Loader
{
    private readonly WasherOptions _options;
    private readonly Plant _plant;
    private readonly SequenceController _controller;
    private readonly DeterministicRandom _random;
    private readonly HashSet<int> _leaveEmpty = [];
    private readonly string[] _ids;
    private TimeSpan _unloadAt;
    private TimeSpan _startAt;
    private TimeSpan _acknowledgeAt;
    private int _loaded;
    private int _kegsSeen;
    private bool _planned;

    public Loader(WasherOptions options, Plant plant, SequenceController controller)
    {
        _options = options;
        _plant = plant;
        _controller = controller;
        _random = DeterministicRandom.Stream(options.Seed, "loader");
        _ids = new string[options.Stations];
        Array.Fill(_ids, "");
        if (options.WaitsToBegin)
        {
            (_planned, _loaded, _unloadAt) = (true, -1, TimeSpan.MaxValue);
        }
        else
        {
            Begin(TimeSpan.Zero);
        }
    }

    public void Begin(TimeSpan at) => Plan(at, _options.FirstStart);

    /// <summary>Empty where there is no keg.</summary>
    public string KegId(int station) => _ids[station];

    public void LeaveEmpty(int station) => _leaveEmpty.Add(station - 1);

    public void Scan(TimeSpan now)
    {
        switch (_controller.Mode)
        {
            case ControllerMode.Fault:
                _acknowledgeAt = _acknowledgeAt == default ? now + _options.FaultReset : _acknowledgeAt;
                if (now >= _acknowledgeAt)
                {
                    _acknowledgeAt = default;
                    _controller.AcknowledgeFault();
                }

                break;
            case ControllerMode.Idle:
                _acknowledgeAt = default; // a power cut can clear a fault before the person does
                if (!_planned)
                {
                    Plan(now, _random.Between(_options.LoadMinimum, _options.LoadMaximum));
                }

                Work(now);
                break;
            default:
                break;
        }
    }

    private void Plan(TimeSpan now, TimeSpan time)
    {
        _planned = true;
        _unloadAt = now + (time * 0.25);
        _startAt = now + time;
        _loaded = -1;
    }

    private void Work(TimeSpan now)
    {
        if (_loaded < 0)
        {
            if (now < _unloadAt)
            {
                return;
            }

            Array.Clear(_plant.Kegs);
            Array.Fill(_ids, "");
            _loaded = 0;
        }

        // One keg after the other, the last one well before the start.
        while (_loaded < _options.Stations && now >= _unloadAt + ((_startAt - _unloadAt) * ((_loaded + 0.5) / (_options.Stations + 0.5))))
        {
            Load(_loaded++);
        }

        if (now >= _startAt)
        {
            _planned = false;
            _leaveEmpty.Clear();
            _controller.StartCycle(now, [.. Enumerable.Range(0, _options.Stations).Where(i => _plant.Kegs[i] is not null).Select(i => new TrueKeg(i + 1, _ids[i]))]);
        }
    }

    private void Load(int station)
    {
        var last = station == _options.Stations - 1 && _plant.Kegs.All(k => k is null);
        if (!last && (_leaveEmpty.Contains(station) || _random.Chance(_options.EmptyStationChance)))
        {
            return;
        }

        _plant.Load(station);

        // A fixed stride through five digits: ids look like a mixed pool and never repeat within 90,000 kegs.
        _ids[station] = $"K{10_000 + ((((long)_kegsSeen++ * 7_919) + ((_options.Seed & 0xFFFF) * 31)) % 90_000)}";
    }
}
