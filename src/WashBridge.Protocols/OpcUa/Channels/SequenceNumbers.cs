namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>
/// Every chunk of a side has the next number, over all tokens of a channel (OPC 10000-6, 6.7.2.4). The numbers begin anew below 1,024 once they have
/// passed 4,294,966,271.
/// </summary>
internal static class SequenceNumbers
{
    public const uint WrapsAbove = uint.MaxValue - 1024;

    /// <summary>The first after a wrap must be less than this.</summary>
    public const uint Low = 1024;

    public static uint Next(uint last) => last > WrapsAbove ? 1 : last + 1;

    public static bool IsNext(uint last, uint found) => found == unchecked(last + 1) || (last > WrapsAbove && found < Low);
}
