namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>
/// What is known of the server's clock: at the instant <see cref="Stamp"/> of our steady clock it showed something from
/// <see cref="Earliest"/> to <see cref="Latest"/>. Each reading of Server_ServerStatus (OPC 10000-5, 12.10) proves that the time read lies
/// between sending the request and receiving the answer; readings are intersected, and what lies between them is widened by the drift allowed.
/// </summary>
/// <param name="Stamp">Of the <see cref="TimeProvider"/>: <see cref="TimeProvider.GetTimestamp"/>.</param>
/// <param name="Earliest">UTC as the server understands it.</param>
/// <param name="Latest">UTC as the server understands it; not before <paramref name="Earliest"/>.</param>
/// <param name="OurTime">UTC by our wall clock at <paramref name="Stamp"/>, for display.</param>
/// <param name="Drift">How much faster or slower one clock may run than the other; 0.0001 is 100 microseconds a second.</param>
/// <param name="StampsPerSecond">Of the <see cref="TimeProvider"/>.</param>
/// <param name="Steps">How often a reading contradicted the earlier ones, so that the server's clock must have been set. The bounds hold since the last time.</param>
public readonly record struct ClockOffset(
    long Stamp,
    DateTime Earliest,
    DateTime Latest,
    DateTime OurTime,
    double Drift,
    long StampsPerSecond,
    int Steps = 0)
{
    /// <summary>The server's clock less ours, at least. Negative: it is behind.</summary>
    public TimeSpan Lower => Earliest - OurTime;

    /// <summary>The server's clock less ours, at most.</summary>
    public TimeSpan Upper => Latest - OurTime;

    /// <summary>The two instants of our steady clock between which the server's clock showed <paramref name="serverTime"/>. The further from <see cref="Stamp"/>, the wider.</summary>
    public (long Earliest, long Latest) ToStamps(DateTime serverTime)
    {
        var (soonest, last) = (serverTime.Ticks - Latest.Ticks, serverTime.Ticks - Earliest.Ticks);
        var perTick = StampsPerSecond / (double)TimeSpan.TicksPerSecond;
        return (
            Stamp + (long)Math.Floor((soonest - (Math.Abs(soonest) * Drift)) * perTick),
            Stamp + (long)Math.Ceiling((last + (Math.Abs(last) * Drift)) * perTick));
    }
}
