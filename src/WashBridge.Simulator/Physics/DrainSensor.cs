namespace WashBridge.Simulator.Physics;

/// <summary>A contact that reads wet or dry: late, and unsure of itself while the last drops fall.</summary>
internal sealed class DrainSensor(DeterministicRandom random)
{
    private const double DelaySeconds = 0.2;
    private const double BounceSeconds = 0.4;
    private const double StickingBounce = 0.3; // seconds for a second of sticking
    private const double BounceRate = 8; // changes a second
    private double _dryFor = double.PositiveInfinity;
    private double _sticksFor;
    private bool _dropSeen;
    private bool _chatter;

    /// <summary>What it reads.</summary>
    public bool ReadsDry { get; private set; } = true;

    /// <summary>Null: works.</summary>
    public bool? StuckDry { get; set; }

    /// <summary>Changes a second of its own; 0: none.</summary>
    public double ChatterRate { get; set; }

    /// <summary>Mean time for which it goes on reading wet after the last drop; each drain its own. While it comes loose it bounces longer.</summary>
    public double StickingSeconds { get; set; }

    /// <summary>A new one is in its place.</summary>
    public void Renew()
    {
        StuckDry = null;
        ChatterRate = 0;
        StickingSeconds = 0;
    }

    public void Step(bool wet, double seconds)
    {
        if (!wet && _dryFor == 0)
        {
            _sticksFor = StickingSeconds > 0 ? StickingSeconds * random.Between(0.6, 1.4) : 0;
        }

        _dryFor = wet ? 0 : _dryFor + seconds;
        var delay = DelaySeconds + _sticksFor;
        if (_dryFor < delay)
        {
            _dropSeen = false;
            ReadsDry = false;
        }
        else if (_dryFor < delay + BounceSeconds + (StickingBounce * Math.Min(_sticksFor, 3)))
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
