namespace WashBridge.Simulator.Physics;

/// <summary>A keg upside down on a station: liquid, gas, heat and what is dissolved.</summary>
/// <param name="volumeLitres">Of the empty keg.</param>
/// <param name="cel">At first.</param>
/// <param name="beerLitres">Left over in it.</param>
/// <param name="nozzleShare">What it takes of a common supply, as a multiple of what others take.</param>
internal sealed class Keg(double volumeLitres, double cel, double beerLitres = 0.15, double nozzleShare = 1)
{
    /// <summary>Wets the walls and does not run off without a strong blow.</summary>
    public const double FilmLitres = 0.12;
    private const double BlownFilmLitres = 0.06;
    private const double BlowOutBar = 2.0;
    private const double ShellKilojoulesPerKelvin = 4.8; // some 10 kg of steel
    private const double DrainArea = 6.2e-5; // m2, with the discharge coefficient
    private const double CrossSection = 0.113; // m2
    private const double PipeDropMetres = 0.3;
    private Lag _sprayed = new(3);
    private Lag _still = new(25);
    private Lag _cooling = new(900);

    public double VolumeLitres { get; } = volumeLitres;

    public double NozzleShare { get; } = nozzleShare;

    public double Litres { get; private set; } = beerLitres;

    public Solute Solute { get; private set; }

    public double LiquidCel { get; private set; } = cel;

    public double ShellCel { get; private set; } = cel;

    public double GasBar { get; private set; } = Nature.AtmosphereBar;

    /// <summary>Volume fraction in the gas, taken as well mixed.</summary>
    public double OxygenFraction { get; private set; } = Nature.OxygenInAir;

    public double InitialLitres { get; } = beerLitres;

    public double DeliveredLitres { get; private set; }

    public double DrainedLitres { get; private set; }

    public double OverflowLitres { get; private set; }

    public double GasLitres => VolumeLitres - Litres;

    /// <summary>What does not run off at the present pressure.</summary>
    public double HeldBack => GasBar > BlowOutBar ? BlownFilmLitres : FilmLitres;

    /// <summary>The neck, where the drain sensor sits, is wet.</summary>
    public bool NeckIsWet => Litres > FilmLitres + 0.05;

    public void Fill(double litres, double cel, Solute solute)
    {
        if (litres <= 0)
        {
            return;
        }

        LiquidCel = ((Litres * LiquidCel) + (litres * cel)) / (Litres + litres);
        Solute += solute;
        SqueezeGas(Litres + litres);
        DeliveredLitres += litres;
        var most = 0.9 * VolumeLitres;
        if (Litres > most)
        {
            OverflowLitres += Litres - most;
            Take(Litres - most);
        }
    }

    /// <summary>Lets liquid, and after it gas, out through the drain.</summary>
    /// <param name="opening">Free share of the valve's opening, 0 to 1.</param>
    /// <param name="seconds">For how long.</param>
    /// <param name="taken">What was dissolved in it.</param>
    /// <returns>Litres of liquid that ran off.</returns>
    public double Drain(double opening, double seconds, out Solute taken)
    {
        var available = Litres - HeldBack;
        if (available <= 0)
        {
            taken = default;
            ExchangeGas(Nature.AtmosphereBar, Math.Max(1e-6, 12 * opening), 0, seconds);
            return 0;
        }

        // Torricelli with the gas pressure on top of the liquid's own height.
        var height = PipeDropMetres + (Litres / 1000 / CrossSection);
        var drive = (Nature.Gravity * height) + ((GasBar - Nature.AtmosphereBar) * 100); // m2/s2: 1 bar lifts 100 J/kg
        var flow = drive <= 0 ? 0 : 1000 * DrainArea * opening * Math.Sqrt(2 * drive);
        var litres = Math.Min(flow * seconds, available);
        taken = Take(litres);
        DrainedLitres += litres;
        return litres;
    }

    /// <summary>Gas to or from a line at <paramref name="lineBar"/>; exact for a linear resistance, so that no step is too long.</summary>
    /// <param name="lineBar">Pressure of the line.</param>
    /// <param name="conductance">Litres (at line pressure) a second for each bar of difference, per bar.</param>
    /// <param name="oxygenInLine">Volume fraction in what flows in.</param>
    /// <param name="seconds">For how long.</param>
    public void ExchangeGas(double lineBar, double conductance, double oxygenInLine, double seconds)
    {
        var difference = lineBar - GasBar;
        if (Math.Abs(difference) < 1e-6)
        {
            return;
        }

        var change = difference * Nature.Approach(seconds, GasLitres / conductance);
        if (change > 0)
        {
            OxygenFraction = ((GasBar * OxygenFraction) + (change * oxygenInLine)) / (GasBar + change);
        }

        GasBar += change;
    }

    /// <summary>Steam condenses on walls and liquid until they are as hot as it is.</summary>
    public void Steam(double steamCel, double seconds)
    {
        var share = Nature.Approach(seconds, 6);
        ShellCel += (steamCel - ShellCel) * share;
        LiquidCel += (steamCel - LiquidCel) * share;
        SqueezeGas(Litres + (0.01 * seconds));
        DeliveredLitres += 0.01 * seconds;
    }

    /// <summary>Liquid and shell even out; the shell loses heat to the room.</summary>
    /// <returns>Heat lost to the room, kJ.</returns>
    public double ExchangeHeat(double roomCel, bool spraying, double seconds)
    {
        var liquidHeat = Nature.LiquidHeat * Litres;
        if (liquidHeat > 0)
        {
            var even = ((liquidHeat * LiquidCel) + (ShellKilojoulesPerKelvin * ShellCel)) / (liquidHeat + ShellKilojoulesPerKelvin);
            var share = spraying ? _sprayed.Share(seconds) : _still.Share(seconds);
            LiquidCel += (even - LiquidCel) * share;
            ShellCel += (even - ShellCel) * share;
        }

        var lost = (ShellCel - roomCel) * _cooling.Share(seconds);
        ShellCel -= lost;
        return lost * ShellKilojoulesPerKelvin;
    }

    public double HeatContent => (Nature.LiquidHeat * Litres * LiquidCel) + (ShellKilojoulesPerKelvin * ShellCel);

    private Solute Take(double litres)
    {
        var taken = Litres > 0 ? Solute * (litres / Litres) : default;
        Solute -= taken;
        SqueezeGas(Litres - litres);
        return taken;
    }

    private void SqueezeGas(double newLitres)
    {
        var before = GasLitres;
        Litres = newLitres;
        GasBar *= before / GasLitres;
    }
}
