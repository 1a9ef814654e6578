namespace WashBridge.Core.Verdicts.Calculations;

/// <summary>Oxygen left after purging by pressure swings: each fill dilutes what is there, each vent takes away gas of the same composition.</summary>
public static class PurgeOxygen
{
    /// <summary>
    /// One swing: y = y_s + (y_0 - y_s) P_L / P_H with absolute pressures, for ideal gas that mixes fully at constant temperature.
    /// Equal swings give the textbook form y_j = y_s + (y_0 - y_s)(P_L / P_H)^j.
    /// </summary>
    /// <param name="before">Volume fraction before, 0 to 1.</param>
    /// <param name="inPurgeGas">Volume fraction in the purge gas, 0 to 1.</param>
    /// <param name="low">Absolute pressure when the fill began; not negative, in the unit of <paramref name="high"/>.</param>
    /// <param name="high">Absolute pressure when it ended; above 0. A fill that does not raise the pressure dilutes nothing.</param>
    public static double AfterSwing(double before, double inPurgeGas, double low, double high)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(low);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(high);
        return inPurgeGas + ((before - inPurgeGas) * Math.Min(1, low / high));
    }

    /// <summary>The same for several swings, in order.</summary>
    public static double After(double before, double inPurgeGas, IEnumerable<(double Low, double High)> swings)
    {
        ArgumentNullException.ThrowIfNull(swings);
        return swings.Aggregate(before, (oxygen, swing) => AfterSwing(oxygen, inPurgeGas, swing.Low, swing.High));
    }
}
