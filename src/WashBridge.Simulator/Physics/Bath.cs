using WashBridge.Simulator.Faults;

namespace WashBridge.Simulator.Physics;

/// <summary>A reservoir: volume, heat and strength. Kegs take from it and give back what they drain, thinned by the rinse water left in them.</summary>
internal sealed class Bath
{
    private const double MakeUpLitresPerSecond = 0.15;
    private const double DosingSharePerSecond = 0.0005; // of all the chemical in a full bath
    private const double LossKilowattsPerKelvin = 0.012;
    private const double ProbeSeconds = 8;
    private readonly BathOptions _options;
    private readonly PlantOptions _plant;

    public Bath(BathOptions options, PlantOptions plant)
    {
        _options = options;
        _plant = plant;
        Litres = options.Litres;
        Cel = Math.Max(options.Cel, plant.RoomCel);
        Solute = Solute.OnePercentOf(options.Kind) * (options.Percent * options.Litres);
        ProbeCel = Cel;
        ProbeConductivity = Solute.ConductivityAt25(Litres);
        TargetConductivity = ProbeConductivity;
    }

    public BathKind Kind => _options.Kind;

    public double Litres { get; private set; }

    public double Cel { get; private set; }

    public Solute Solute { get; private set; }

    public double StrengthPercent => Litres > 0 ? 100 * Solute.Of(Kind) / Litres : 0;

    public double LevelPercent => 100 * Litres / _options.Litres;

    /// <summary>Set by the controller.</summary>
    public bool HeaterOn { get; set; }

    /// <summary>Set by the controller.</summary>
    public bool DosingOn { get; set; }

    public bool HeaterWorks { get; set; } = true;

    /// <summary>Nobody tops the bath up, and it runs out.</summary>
    public bool RunsDry { get; set; }

    /// <summary>Share of what the dosing pump should deliver.</summary>
    public double DosingShare { get; set; } = 1;

    public bool HasHeater => _options.HeaterKilowatts > 0;

    public bool AutomaticDosing => _options.AutomaticDosing;

    public double TargetCel => _options.Cel;

    public double TargetConductivity { get; }

    /// <summary>As the slow probe sees it.</summary>
    public double ProbeCel { get; private set; }

    /// <summary>As the slow probe sees it, at 25 Cel.</summary>
    public double ProbeConductivity { get; private set; }

    /// <summary>The suction pipe ends above the bottom.</summary>
    public bool CanSupply => Litres > 0.03 * _options.Litres;

    public double HeatContent => Nature.LiquidHeat * Litres * Cel;

    /// <summary>kJ brought by the heater.</summary>
    public double HeaterKilojoules { get; private set; }

    /// <summary>kJ lost to the room.</summary>
    public double LostKilojoules { get; private set; }

    /// <summary>kJ (above 0 Cel) of the water and the concentrate added.</summary>
    public double AddedKilojoules { get; private set; }

    public Solute Take(double litres)
    {
        var taken = Solute * (litres / Litres);
        Solute -= taken;
        Litres -= litres;
        return taken;
    }

    public void Return(double litres, double cel, Solute solute)
    {
        if (litres <= 0)
        {
            return;
        }

        Cel = ((Litres * Cel) + (litres * cel)) / (Litres + litres);
        Litres += litres;
        Solute += solute;
        if (Litres > 1.1 * _options.Litres)
        {
            Take(Litres - (1.1 * _options.Litres)); // over the weir
        }
    }

    /// <summary>Heating, losses, topping up, dosing, probes: all slow.</summary>
    public void Step(double seconds)
    {
        if (RunsDry)
        {
            Take(Math.Min(Math.Max(0, Litres - 0.001), 0.1 * _options.Litres * seconds));
        }
        else if (Litres < 0.97 * _options.Litres)
        {
            Add(MakeUpLitresPerSecond * seconds * (Litres < 0.5 * _options.Litres ? 10 : 1), default);
        }

        if (DosingOn && !RunsDry)
        {
            // Concentrate of half chemical, half water.
            var kilograms = DosingSharePerSecond * DosingShare * seconds * _options.Percent * _options.Litres / 100;
            Add(2 * kilograms, Solute.OnePercentOf(Kind) * (100 * kilograms));
        }

        var capacity = Nature.LiquidHeat * Math.Max(Litres, 1);
        if (HeaterOn && HeaterWorks)
        {
            HeaterKilojoules += _options.HeaterKilowatts * seconds;
            Cel += _options.HeaterKilowatts * seconds / capacity;
        }

        var loss = LossKilowattsPerKelvin * (Cel - _plant.RoomCel) * seconds;
        LostKilojoules += loss;
        Cel -= loss / capacity;
        ProbeCel += (Cel - ProbeCel) * Nature.Approach(seconds, ProbeSeconds);
        ProbeConductivity += ((CanSupply ? Solute.ConductivityAt25(Litres) : 0) - ProbeConductivity) * Nature.Approach(seconds, ProbeSeconds);
    }

    private void Add(double litres, Solute solute)
    {
        AddedKilojoules += Nature.LiquidHeat * litres * _plant.WaterCel;
        Return(litres, _plant.WaterCel, solute);
    }
}
