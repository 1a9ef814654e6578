namespace WashBridge.Core.Verdicts.Calculations;

/// <summary>How far inside a limit a result must lie to be accepted at a stated risk (JCGM 106:2012, 8.3).</summary>
public static class GuardBand
{
    /// <summary>
    /// Guard band for a duration whose two edges were both polled every <paramref name="pollWidth"/>: the error is triangular on
    /// +-pollWidth, and P(error above g) = (pollWidth - g)^2 / (2 pollWidth^2). At risk 0 the band is the whole width: that is the bounds rule.
    /// </summary>
    /// <param name="pollWidth">Width of each edge; not negative.</param>
    /// <param name="risk">Largest accepted probability of a false acceptance, 0 to 0.5.</param>
    public static double OfPolledDuration(double pollWidth, double risk)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(pollWidth);
        ArgumentOutOfRangeException.ThrowIfNegative(risk);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(risk, 0.5);
        return pollWidth * (1 - Math.Sqrt(2 * risk));
    }

    /// <summary>The acceptance limit for a lower tolerance limit: A_L = T_L + g.</summary>
    public static double AcceptanceLimit(double lowerLimit, double guardBand) => lowerLimit + guardBand;
}
