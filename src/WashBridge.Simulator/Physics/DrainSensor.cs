namespace WashBridge.Simulator.Physics;

/// <summary>A contact that reads wet or dry: late, and unsure of itself while the last drops fall.</summary>
internal sealed class DrainSensor(DeterministicRandom random)
{
    private const double DelaySeconds = 0.2;
    private const double BounceSeconds = 0.4;
    private const double BounceRate = 8; // changes a second
    private double _dryFor = double.PositiveInfinity;
    private bool _dropSeen;
    private bool _chatter;

    /// <summary>What it reads.</summary>
    public bool ReadsDry { get; private set; } = true;

    /// <summary>Null: works.</summary>
    public bool? StuckDry { get; set; }

    /// <summary>Changes a second of its own; 0: none.</summary>
    public double ChatterRate { get; set; }

    public void Step(bool wet, double seconds)
    {
        _dryFor = wet ? 0 : _dryFor + seconds;
        if (_dryFor < DelaySeconds)
        {
            _dropSeen = false;
            ReadsDry = false;
        }
        else if (_dryFor < DelaySeconds + BounceSeconds)
        {
            if (random.Chance(BounceRate * seconds))
            {
                _dropSeen = !_dropSeen;
            }

            ReadsDry = !_dropSeen;
        }
        else
        {
            ReadsDry = true;
        }

        if (StuckDry is { } stuck)
        {
            ReadsDry = stuck;
        }
        else if (ChatterRate > 0)
        {
            if (random.Chance(ChatterRate * seconds))
            {
                _chatter = !_chatter;
            }

            ReadsDry ^= _chatter;
        }
    }
}
