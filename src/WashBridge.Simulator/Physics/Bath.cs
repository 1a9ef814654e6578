using WashBridge.Simulator.Faults;

namespace WashBridge.Simulator.Physics;

/// <summary>A reservoir: volume, heat and strength. Kegs take from it and give back what they drain, thinned by the rinse water left in them.</summary>
internal sealed class Bath
{
    private const double MakeUpLitresPerSecond = 0.15;
    private const double DosingSharePerSecond = 0.0005; // of all the chemical in a full bath
    private const double LossKilowattsPerKelvin = 0.012;
    private const double ProbeSeconds = 8;
    private const double DosingLineSeconds = 40; // of pumping fill an empty line
    private readonly BathOptions _options;
    private readonly PlantOptions _plant;
    private double _standing;
    private Lag _probe = new(ProbeSeconds);

    public Bath(BathOptions options, PlantOptions plant)
    {
        _options = options;
        _plant = plant;
        Litres = options.Litres;
        AutomaticDosing = options.AutomaticDosing;
        Renew();
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

    /// <summary>Share of its power that the heater brings in: scale and dead elements take from it, 0 to 1.</summary>
    public double HeaterShare { get; set; } = 1;

    /// <summary>Share of what the dosing pump should deliver.</summary>
    public double DosingShare { get; set; } = 1;

    /// <summary>Share of the delivery that the dosing pump's tube has lost, 0 to 1.</summary>
    public double TubeWear { get; set; }

    /// <summary>Share of the dosing line that drains back through its check valve in 1,000 s, 0 or more.</summary>
    public double CheckValveLeak { get; set; }

    /// <summary>Share of the dosing line that must be filled before anything comes out.</summary>
    public double LineEmpty { get; private set; }


    public bool HasHeater => _options.HeaterKilowatts > 0;

    public bool AutomaticDosing { get; set; }

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

    /// <summary>Seconds for which chemical stood in the dosing line since this was asked last.</summary>
    public double TakeStanding()
    {
        var standing = _standing;
        _standing = 0;
        return standing;
    }

    /// <summary>Filled anew, as strong and as hot as it should be.</summary>
    public void Renew()
    {
        Litres = _options.Litres;
        Cel = Math.Max(_options.Cel, _plant.RoomCel);
        Solute = Solute.OnePercentOf(Kind) * (_options.Percent * _options.Litres);
    }

    /// <summary>Heating, losses, topping up, dosing, probes: all slow.</summary>
    public void Step(double roomCel, double waterCel, double seconds)
    {
        if (RunsDry)
        {
            Take(Math.Min(Math.Max(0, Litres - 0.001), 0.1 * _options.Litres * seconds));
        }
        else if (Litres < 0.97 * _options.Litres)
        {
            Add(MakeUpLitresPerSecond * seconds * (Litres < 0.5 * _options.Litres ? 10 : 1), waterCel, default);
        }

        Dose(waterCel, seconds);
        var capacity = Nature.LiquidHeat * Math.Max(Litres, 1);
        if (HeaterOn && HeaterWorks)
        {
            HeaterKilojoules += _options.HeaterKilowatts * HeaterShare * seconds;
            Cel += _options.HeaterKilowatts * HeaterShare * seconds / capacity;
        }

        var loss = LossKilowattsPerKelvin * (Cel - roomCel) * seconds;
        LostKilojoules += loss;
        Cel -= loss / capacity;
        ProbeCel += (Cel - ProbeCel) * _probe.Share(seconds);
        ProbeConductivity += ((CanSupply ? Solute.ConductivityAt25(Litres) : 0) - ProbeConductivity) * _probe.Share(seconds);
    }

    /// <summary>While the pump stands the line drains back through a leaking check valve; it must be full before anything comes out.</summary>
    private void Dose(double waterCel, double seconds)
    {
        if (!DosingOn)
        {
            _standing += seconds;
            LineEmpty = Math.Min(1, LineEmpty + (CheckValveLeak * seconds / 1000));
            return;
        }

        var pumped = DosingShare * (1 - TubeWear) * seconds;
        var filling = Math.Min(pumped, LineEmpty * DosingLineSeconds);
        LineEmpty -= filling / DosingLineSeconds;
        if (!RunsDry)
        {
            // Concentrate of half chemical, half water.
            var kilograms = DosingSharePerSecond * (pumped - filling) * _options.Percent * _options.Litres / 100;
            Add(2 * kilograms, waterCel, Solute.OnePercentOf(Kind) * (100 * kilograms));
        }
    }

    private void Add(double litres, double waterCel, Solute solute)
    {
        AddedKilojoules += Nature.LiquidHeat * litres * waterCel;
        Return(litres, waterCel, solute);
    }
}
