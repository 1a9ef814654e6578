using WashBridge.Simulator.Faults;

namespace WashBridge.Simulator.Physics;

/// <summary>All that moves in one washer, stepped by the controller's scan.</summary>
internal sealed class Plant
{
    private const double SlowSeconds = 0.5;
    private const double Co2Conductance = 35; // L/s
    private const double Co2Droop = 0.12; // bar in the line for each bar that the kegs lack
    private const double VentConductance = 35;
    private const double AirConductance = 15;
    private const double SteamConductance = 20;
    private const double RegulatorBar = 5; // the assist regulator needs so much before it, above the atmosphere's
    private const double BeerLitres = 0.15; // left over in a keg
    private const double BeerVariation = 0.05;
    private const double NozzleVariation = 0.01;
    private readonly DeterministicRandom _random;
    private readonly LiquidSupply _water;
    private readonly DrainValve[] _drainValves;
    private readonly Surroundings _surroundings;
    private readonly double[] _returnCel;
    private readonly double[] _returnConductivity;
    private readonly bool _sharedSensor;
    private readonly Bath?[] _byKind = new Bath?[3];
    private double _sinceSlow;
    private double _waterDrift;
    private double _co2Sag;
    private Lag _regulator = new(0.15);
    private Lag _returnPipe = new(1.5);
    private Lag _returnInSteam = new(2);
    private Lag _returnAtRest = new(240);
    private Lag _main = new(60);

    public Plant(PlantOptions options, int stations, bool sharedSensor, int seed)
    {
        Options = options;
        _random = DeterministicRandom.Stream(seed, "plant");
        _water = new LiquidSupply(stations, 0.7);
        _surroundings = new Surroundings(options, seed);
        Pump = new SprayPump(stations, options.PumpShutoffBar);
        Baths = [.. options.Baths.Select(b => new Bath(b, options))];
        foreach (var bath in Baths)
        {
            _byKind[(int)bath.Kind] = bath;
        }

        Kegs = new Keg?[stations];
        _drainValves = [.. Enumerable.Range(0, stations).Select(i => new DrainValve(DeterministicRandom.Stream(seed, "drain valve " + i), options.Noise))];
        _returnCel = new double[stations];
        _returnConductivity = new double[stations];
        Array.Fill(_returnCel, options.RoomCel);
        _sharedSensor = sharedSensor;
        Sensors = [.. Enumerable.Range(0, sharedSensor ? 1 : stations).Select(i => new DrainSensor(DeterministicRandom.Stream(seed, "drain sensor " + i)))];
        Co2SupplyBar = options.Co2Bar;
        AirSupplyBar = options.AirBar;
        WaterStaticBar = options.WaterBar;
        WaterBar = options.WaterBar;
    }

    public PlantOptions Options { get; }

    public SprayPump Pump { get; }

    public IReadOnlyList<Bath> Baths { get; }

    /// <summary>By station from 0; null: none there.</summary>
    public Keg?[] Kegs { get; }

    /// <summary>One a station, or the shared one.</summary>
    public IReadOnlyList<DrainSensor> Sensors { get; }

    /// <summary>Of the supply at rest, absolute.</summary>
    public double Co2SupplyBar { get; set; }

    /// <summary>In the CO2 line, which sags while gas flows; absolute.</summary>
    public double Co2Bar => Math.Max(Nature.AtmosphereBar, Co2SupplyBar + _surroundings.Co2Bar - _co2Sag);

    /// <summary>What the compressor should hold, absolute.</summary>
    public double AirSupplyBar { get; set; }

    /// <summary>Of the control air, absolute.</summary>
    public double AirBar => Math.Max(Nature.AtmosphereBar, AirSupplyBar + _surroundings.AirBar);

    /// <summary>What the regulator lets onto a keg that drains: as set, unless the supply is too low for it.</summary>
    public double AssistBar => Nature.AtmosphereBar + ((Options.DrainAssistBar - Nature.AtmosphereBar) * Math.Min(1, (AirBar - Nature.AtmosphereBar) / RegulatorBar));

    public double WaterCel => _surroundings.WaterCel;

    public double WaterStaticBar { get; set; }

    /// <summary>Absolute, as delivered.</summary>
    public double WaterBar { get; private set; }

    /// <summary>L/s towards the kegs.</summary>
    public double SupplyFlow { get; private set; }

    /// <summary>Volume sent to the sewer, L.</summary>
    public double SewerLitres { get; private set; }

    public Bath? Bath(BathKind kind) => _byKind[(int)kind];

    public DrainValve DrainValve(int station) => _drainValves[station];

    public double ReturnCel(int station) => _returnCel[station];

    public double ReturnConductivity(int station) => _returnConductivity[station];

    public double KegBar(int station) => Kegs[station]?.GasBar ?? Nature.AtmosphereBar;

    public bool ReadsDry(int sensor) => Sensors[sensor].ReadsDry;

    public void Load(int station) => Kegs[station] = new Keg(
        Options.KegLitres,
        _random.Between(8, 14),
        Math.Max(0.02, BeerLitres + (BeerVariation * Options.Noise * _random.NextGaussian())),
        1 + (NozzleVariation * Options.Noise * _random.NextGaussian()));

    public void Step(Outputs outputs, double seconds)
    {
        Supply(outputs, seconds);
        SagCo2(outputs, seconds);
        for (var i = 0; i < Kegs.Length; i++)
        {
            if (Kegs[i] is { } keg)
            {
                StepKeg(i, keg, outputs, seconds);
            }
        }

        StepSensors(seconds);
        _sinceSlow += seconds;
        if (_sinceSlow >= SlowSeconds - 1e-9)
        {
            StepSlow(outputs, _sinceSlow);
            _sinceSlow = 0;
        }
    }

    private void Supply(Outputs outputs, double seconds)
    {
        var open = 0;
        var shares = 0.0;
        foreach (var keg in Kegs)
        {
            open += keg is null ? 0 : 1;
            shares += keg?.NozzleShare ?? 0;
        }

        var spraying = (outputs & Outputs.AnySpray) != 0;
        var spear = (outputs & Outputs.SpearRinse) != 0;
        var bath = Selected(outputs);
        Pump.SpeedShare = 1 + _surroundings.MotorSpeed;
        Pump.Run((outputs & Outputs.SprayPump) != 0, bath is { CanSupply: true }, spraying ? open : 0, spear, seconds);
        var water = spraying && (outputs & Outputs.Water) != 0;
        var staticBar = WaterStaticBar + _waterDrift - Nature.AtmosphereBar;
        if (water)
        {
            _water.Run(staticBar, open, spear, seconds);
        }
        else
        {
            _water.Stop(staticBar);
        }

        WaterBar = Nature.AtmosphereBar + _water.DeliveryBar;
        SupplyFlow = water ? _water.Flow : spraying ? Pump.Flow : 0;
        if (SupplyFlow <= 0 || open == 0)
        {
            return;
        }

        foreach (var keg in Kegs)
        {
            var each = keg is null ? 0 : SupplyFlow * seconds * keg.NozzleShare / shares;
            if (water)
            {
                keg?.Fill(each, WaterCel, default);
            }
            else if (keg is not null && bath is not null)
            {
                var litres = Math.Min(each, bath.Litres);
                keg.Fill(litres, bath.Cel, bath.Take(litres));
            }
        }
    }

    /// <summary>The regulator gives way a little while gas flows; it is sized for its number of stations.</summary>
    private void SagCo2(Outputs outputs, double seconds)
    {
        var lacking = 0.0;
        if ((outputs & Outputs.Co2) != 0)
        {
            foreach (var keg in Kegs)
            {
                lacking += keg is null ? 0 : Math.Max(0, Co2Bar - keg.GasBar);
            }
        }

        if (lacking > 0 || _co2Sag > 0)
        {
            _co2Sag += ((Co2Droop * lacking / Kegs.Length) - _co2Sag) * _regulator.Share(seconds);
        }
    }

    private void StepKeg(int i, Keg keg, Outputs outputs, double seconds)
    {
        _drainValves[i].Step((outputs & Outputs.Drain) != 0, AirBar, seconds);
        if ((outputs & Outputs.Drain) != 0)
        {
            var litres = keg.Drain(_drainValves[i].Opening, seconds, out var solute);
            if (litres > 0)
            {
                ToSewerOrBath(outputs, litres, keg.LiquidCel, solute);
                var share = _returnPipe.Share(seconds);
                _returnCel[i] += (keg.LiquidCel - _returnCel[i]) * share;
                _returnConductivity[i] += (solute.ConductivityAt25(litres) - _returnConductivity[i]) * share;
            }
        }

        if ((outputs & Outputs.Air) != 0)
        {
            keg.ExchangeGas(AssistBar, AirConductance, Nature.OxygenInAir, seconds);
        }

        if ((outputs & Outputs.Co2) != 0)
        {
            keg.ExchangeGas(Co2Bar, Co2Conductance, Options.OxygenInCo2, seconds);
        }

        if ((outputs & Outputs.Steam) != 0)
        {
            keg.ExchangeGas(Options.SteamBar, SteamConductance, 0, seconds);
            keg.Steam(Boiling(keg.GasBar), seconds);
        }

        if ((outputs & Outputs.Vent) != 0)
        {
            keg.ExchangeGas(Nature.AtmosphereBar, VentConductance, Nature.OxygenInAir, seconds);
        }
    }

    private void ToSewerOrBath(Outputs outputs, double litres, double cel, Solute solute)
    {
        if (ReturnedTo(outputs) is { RunsDry: false } bath)
        {
            bath.Return(litres, cel, solute);
        }
        else
        {
            SewerLitres += litres;
        }
    }

    private void StepSensors(double seconds)
    {
        if (!_sharedSensor)
        {
            for (var i = 0; i < Kegs.Length; i++)
            {
                Sensors[i].Step(Kegs[i] is { NeckIsWet: true }, seconds);
            }

            return;
        }

        var wet = false;
        foreach (var keg in Kegs)
        {
            wet |= keg is { NeckIsWet: true };
        }

        Sensors[0].Step(wet, seconds);
    }

    private void StepSlow(Outputs outputs, double seconds)
    {
        _surroundings.Step(seconds);
        foreach (var bath in Baths)
        {
            bath.Step(_surroundings.RoomCel, WaterCel, seconds);
        }

        var spraying = (outputs & Outputs.AnySpray) != 0;
        for (var i = 0; i < Kegs.Length; i++)
        {
            Kegs[i]?.ExchangeHeat(_surroundings.RoomCel, spraying, seconds);
            if ((outputs & Outputs.Steam) != 0 && Kegs[i] is { } keg)
            {
                _returnCel[i] += (keg.ShellCel - _returnCel[i]) * _returnInSteam.Share(seconds);
            }
            else if ((outputs & Outputs.Drain) == 0)
            {
                _returnCel[i] += (_surroundings.RoomCel - _returnCel[i]) * _returnAtRest.Share(seconds);
            }
        }

        // The main breathes: a slow walk that always comes back.
        _waterDrift += (-_waterDrift * _main.Share(seconds)) + (0.012 * Options.Noise * _random.NextGaussian());
    }

    private Bath? Selected(Outputs outputs) =>
        (outputs & Outputs.Caustic) != 0 ? _byKind[0] : (outputs & Outputs.Acid) != 0 ? _byKind[1] : (outputs & Outputs.Sanitiser) != 0 ? _byKind[2] : null;

    private Bath? ReturnedTo(Outputs outputs) =>
        (outputs & Outputs.ReturnCaustic) != 0 ? _byKind[0] : (outputs & Outputs.ReturnAcid) != 0 ? _byKind[1] : (outputs & Outputs.ReturnSanitiser) != 0 ? _byKind[2] : null;

    /// <summary>Boiling point of water, Cel, from its pressure: Antoine's equation (constants from memory, 99 to 374 Cel, mmHg).</summary>
    internal static double Boiling(double bar) => (1810.94 / (8.14019 - Math.Log10(bar * 750.062))) - 244.485;
}
