namespace WashBridge.Core.Verdicts.Calculations;

/// <summary>Thermal lethality accumulated per second at a constant temperature.</summary>
public static class ThermalDoses
{
    /// <summary>Below this nothing counts towards A0, Cel (ISO 15883-1).</summary>
    public const double A0CountsFrom = 65;

    /// <summary>A0 rate in s/s: 10^((T - 80) / 10), z = 10 K, counted from 65 Cel (ISO 15883-1). 600 is 10 min at 80 Cel or 1 min at 90 Cel.</summary>
    /// <param name="temperature">Cel.</param>
    public static double A0Rate(double temperature) => temperature >= A0CountsFrom ? Math.Pow(10, (temperature - 80) / 10) : 0;

    /// <summary>
    /// Pasteurisation units a minute: 1.393^(T - 60) (Del Vecchio 1951), which is z = 6.94 K; the rounded z = 7 K form gives 3 % less at 72 Cel.
    /// </summary>
    /// <param name="temperature">Cel.</param>
    public static double PasteurisationRate(double temperature) => Math.Pow(1.393, temperature - 60);
}
