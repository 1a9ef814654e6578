namespace WashBridge.Simulator.Physics;

/// <summary>What drives liquid into the kegs: the water main or the spray pump. Both sag with flow.</summary>
internal sealed class LiquidSupply
{
    private const double WallCoefficient = 0.177; // L/s for the root of a bar, each station: 15 L/min at 2 bar
    private const double SpearCoefficient = 0.105;
    private const double LineFillSeconds = 0.3;
    private readonly double _droop;
    private Lag _filling = new(LineFillSeconds);

    public LiquidSupply(int stations, double droopBar)
    {
        // Sized for its washer: the same sag with all stations open, however many there are.
        var rated = 0.25 * stations;
        _droop = droopBar / (rated * rated);
    }

    /// <summary>L/s to all kegs together.</summary>
    public double Flow { get; private set; }

    /// <summary>Above the atmosphere's.</summary>
    public double DeliveryBar { get; private set; }

    /// <param name="staticBar">Above the atmosphere's, without flow.</param>
    /// <param name="openStations">How many kegs take liquid.</param>
    /// <param name="spear">Through the spear; otherwise to the walls.</param>
    /// <param name="seconds">For how long.</param>
    public void Run(double staticBar, int openStations, bool spear, double seconds)
    {
        // static = droop Q^2 + (Q / n c)^2, solved for Q.
        var coefficient = openStations * (spear ? SpearCoefficient : WallCoefficient);
        var target = coefficient * Math.Sqrt(Math.Max(0, staticBar) / (1 + (_droop * coefficient * coefficient)));
        Flow += (target - Flow) * _filling.Share(seconds);
        DeliveryBar = staticBar - (_droop * Flow * Flow);
    }

    public void Stop(double staticBar)
    {
        Flow = 0;
        DeliveryBar = staticBar;
    }
}
