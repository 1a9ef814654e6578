namespace WashBridge.Simulator.Physics;

/// <summary>What is never quite the same from hour to hour, without anything being wrong: room, water, mains, regulators.</summary>
internal sealed class Surroundings
{
    private const double StepSeconds = 5;
    private const double RoomSwingCel = 1.2; // warmest in the afternoon; common practice, no source
    private readonly PlantOptions _options;
    private readonly Wander _room;
    private readonly Wander _water;
    private readonly Wander _air;
    private readonly Wander _co2;
    private readonly Wander _mains;
    private double _time;
    private double _moved;

    public Surroundings(PlantOptions options, int seed)
    {
        _options = options;
        _room = Of("room", 0.4, 3_600);
        _water = Of("water temperature", 0.3, 7_200);
        _air = Of("air pressure", 0.06, 90);
        _co2 = Of("CO2 regulator", 0.008, 300);
        _mains = Of("mains", 0.002, 600);
        RoomCel = options.RoomCel;

        Wander Of(string purpose, double deviation, double timeConstant) =>
            new(DeterministicRandom.Stream(seed, purpose), deviation * options.Noise, timeConstant);
    }

    public double RoomCel { get; private set; }

    public double WaterCel => _options.WaterCel + _water.Value;

    /// <summary>By which the air supply differs from what it should be, bar.</summary>
    public double AirBar => _air.Value;

    /// <summary>By which the CO2 regulator differs from its setting, bar.</summary>
    public double Co2Bar => _co2.Value;

    /// <summary>By which motors run faster than rated, a share.</summary>
    public double MotorSpeed => _mains.Value;

    public void Step(double seconds)
    {
        _time += seconds;
        if (_time - _moved < StepSeconds)
        {
            return;
        }

        seconds = _time - _moved;
        _moved = _time;
        _room.Step(seconds);
        _water.Step(seconds);
        _air.Step(seconds);
        _co2.Step(seconds);
        _mains.Step(seconds);
        RoomCel = _options.RoomCel + _room.Value + (_options.Noise * RoomSwingCel * Math.Sin(_time * (2 * Math.PI / _options.Day.TotalSeconds)));
    }
}
