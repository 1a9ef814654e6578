namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>Numbers of notification messages: 1 to 4,294,967,295, then 1 again; 0 is never used (OPC 10000-4, 7.8: Counter, and 5.14.1.1).</summary>
internal static class SequenceNumber
{
    public static uint After(uint number) => number == uint.MaxValue ? 1 : number + 1;

    /// <summary>How many messages lie between: 0 if they are the same, negative if <paramref name="number"/> comes before <paramref name="expected"/>.</summary>
    public static long Distance(uint expected, uint number)
    {
        const long Numbers = uint.MaxValue;
        var ahead = ((long)number - expected + Numbers) % Numbers;
        return ahead <= Numbers / 2 ? ahead : ahead - Numbers;
    }
}
