namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>How many operations fit into one request, learnt on the way. Safe to use from several threads.</summary>
internal sealed class BatchLimit(int most)
{
    private int value = most;

    public int Value => Volatile.Read(ref value);

    /// <summary>What the server says; 0: no limit of its own.</summary>
    public void Told(double told)
    {
        if (told is >= 1 and < int.MaxValue)
        {
            Lower((int)told);
        }
    }

    /// <summary>A request of that size was too large.</summary>
    public void TooLarge(int size) => Lower(Math.Max(1, size / 2));

    /// <summary>Whether fewer operations may succeed where these did not.</summary>
    public static bool MayHelp(StatusCode status) =>
        status == StatusCodes.BadTooManyOperations
        || status == StatusCodes.BadRequestTooLarge
        || status == StatusCodes.BadResponseTooLarge
        || status == StatusCodes.BadEncodingLimitsExceeded;

    private void Lower(int to)
    {
        for (var seen = Value; to < seen;)
        {
            var before = Interlocked.CompareExchange(ref value, to, seen);
            if (before == seen)
            {
                return;
            }

            seen = before;
        }
    }
}
