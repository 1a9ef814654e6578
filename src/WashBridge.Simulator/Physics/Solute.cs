namespace WashBridge.Simulator.Physics;

/// <summary>Chemicals dissolved in an amount of liquid, kg each. A litre of liquid is taken for a kilogram.</summary>
internal readonly record struct Solute(double Caustic, double Acid, double Sanitiser)
{
    public static Solute operator +(Solute a, Solute b) => new(a.Caustic + b.Caustic, a.Acid + b.Acid, a.Sanitiser + b.Sanitiser);

    public static Solute operator -(Solute a, Solute b) => new(a.Caustic - b.Caustic, a.Acid - b.Acid, a.Sanitiser - b.Sanitiser);

    public static Solute operator *(Solute a, double factor) => new(a.Caustic * factor, a.Acid * factor, a.Sanitiser * factor);

    public static Solute OnePercentOf(Faults.BathKind kind) => kind switch
    {
        Faults.BathKind.Caustic => new Solute(0.01, 0, 0),
        Faults.BathKind.Acid => new Solute(0, 0.01, 0),
        _ => new Solute(0, 0, 0.01),
    };

    public double Of(Faults.BathKind kind) => kind switch
    {
        Faults.BathKind.Caustic => Caustic,
        Faults.BathKind.Acid => Acid,
        _ => Sanitiser,
    };

    /// <summary>
    /// Conductivity at 25 Cel, mS/cm, of this much in <paramref name="litres"/>. Second-degree fits to sodium hydroxide (values from memory)
    /// and nitric acid at 20 Cel (CRC Handbook), taken to 25 Cel with 2 %/K; the sanitiser's slope is our own invention.
    /// </summary>
    public double ConductivityAt25(double litres)
    {
        if (litres <= 0)
        {
            return 0;
        }

        var caustic = 100 * Caustic / litres;
        var acid = 100 * Acid / litres;
        var sanitiser = 100 * Sanitiser / litres;
        const double to25 = 1.1;
        const double tapWater = 0.5;
        return tapWater
            + (to25 * ((50.2 - (1.825 * Math.Min(caustic, 10))) * caustic))
            + (to25 * ((57.3 - (1.65 * Math.Min(acid, 10))) * acid))
            + (6 * sanitiser);
    }
}
