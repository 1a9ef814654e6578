namespace WashBridge.Protocols.OpcUa.Encoding;

/// <summary>
/// Times on the wire: ticks of 100 ns since 1601-01-01 UTC, which is also a Windows file time (OPC 10000-6, 5.2.2.5). What lies outside of
/// what a clock here can show becomes its first or last instant.
/// </summary>
internal static class UaTime
{
    private static readonly long Epoch = new DateTime(1601, 1, 1, 0, 0, 0, DateTimeKind.Utc).Ticks;
    private static readonly long LastSecond = new DateTime(9999, 12, 31, 23, 59, 59, DateTimeKind.Utc).Ticks;

    public static DateTime Decode(long ticks) =>
        ticks <= 0 ? DateTime.SpecifyKind(DateTime.MinValue, DateTimeKind.Utc)
        : ticks >= LastSecond - Epoch ? DateTime.SpecifyKind(DateTime.MaxValue, DateTimeKind.Utc)
        : new DateTime(ticks + Epoch, DateTimeKind.Utc);

    public static long Encode(DateTime time)
    {
        var ticks = (time.Kind == DateTimeKind.Local ? time.ToUniversalTime() : time).Ticks;
        return ticks <= Epoch ? 0 : ticks >= LastSecond ? long.MaxValue : ticks - Epoch;
    }
}
