namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>Refuses options outside of their range, saying what was found and what is allowed.</summary>
internal static class Ranges
{
    public static void Check<T>(T found, string name, T least, T most)
        where T : IComparable<T>
    {
        if (found.CompareTo(least) < 0 || found.CompareTo(most) > 0)
        {
            throw new ArgumentOutOfRangeException(name, found, $"allowed: {least} to {most}");
        }
    }
}
