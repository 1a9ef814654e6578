namespace WashBridge.Historian.Storage;

/// <summary>Sums of instants and spans in microseconds that stop at the ends of the range, so that "for ever" can be asked for.</summary>
internal static class Saturate
{
    public static long Add(long instant, long span)
    {
        var sum = unchecked(instant + span);
        return span >= 0
            ? sum < instant ? long.MaxValue : sum
            : sum > instant ? long.MinValue : sum;
    }
}
