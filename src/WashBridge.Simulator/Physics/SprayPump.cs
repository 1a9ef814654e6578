namespace WashBridge.Simulator.Physics;

/// <summary>A centrifugal pump: pressure falls with the square of flow, and wear takes speed off the impeller and efficiency off the rest.</summary>
internal sealed class SprayPump(int stations, double shutoffBar)
{
    private readonly LiquidSupply _supply = new(stations, 0.9);
    private double _current;
    private Lag _motor = new(0.2);

    /// <summary>Share of speed lost, 0 to 0.9.</summary>
    public double Wear { get; set; }

    /// <summary>What the mains make of its rated speed.</summary>
    public double SpeedShare { get; set; } = 1;

    public bool Running { get; private set; }

    public long Starts { get; private set; }

    public double Flow => _supply.Flow;

    /// <summary>Absolute.</summary>
    public double DeliveryBar { get; private set; } = Nature.AtmosphereBar;

    public double MotorAmperes => _current;

    public void Run(bool on, bool hasLiquid, int openStations, bool spear, double seconds)
    {
        if (on && !Running)
        {
            Starts++;
        }

        Running = on;
        if (!on)
        {
            _supply.Stop(0);
            DeliveryBar = Nature.AtmosphereBar;
            _current = 0;
            return;
        }

        var speed = (1 - Wear) * SpeedShare;
        _supply.Run(hasLiquid ? shutoffBar * speed * speed : 0, openStations, spear, seconds);
        DeliveryBar = Nature.AtmosphereBar + _supply.DeliveryBar;

        // No-load current, and the hydraulic power over an efficiency that wear lowers.
        var target = 1.9 + (1.6 * _supply.Flow * _supply.DeliveryBar / (1 - (0.7 * Wear)));
        _current += (target - _current) * _motor.Share(seconds);
    }
}
