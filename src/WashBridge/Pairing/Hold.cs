namespace WashBridge.Pairing;

/// <summary>
/// How far the one that reads may fold: what the other has copied, so that after an end that nobody expects the other comes to the same. Nothing is held back for more
/// than a second, and nothing at all while nobody copies.
/// </summary>
internal sealed class Hold(TimeProvider time)
{
    private static readonly TimeSpan Longest = TimeSpan.FromSeconds(1);
    private static readonly TimeSpan Step = TimeSpan.FromMilliseconds(100);
    private static readonly TimeSpan Gone = TimeSpan.FromSeconds(3);

    private readonly Lock _lock = new();
    private readonly Queue<(long Stamp, long Last)> _ends = [];
    private (long Stamp, long Sequence)? _acknowledged;
    private (long Stamp, long Last) _newest;
    private long _old;

    public void Acknowledge(long sequence)
    {
        lock (_lock)
        {
            _acknowledged = (time.GetTimestamp(), Math.Max(sequence, _acknowledged?.Sequence ?? 0));
        }
    }

    /// <param name="last">The end of the log now.</param>
    public long Upto(long last)
    {
        lock (_lock)
        {
            if (_acknowledged is not { } acknowledged || time.GetElapsedTime(acknowledged.Stamp) > Gone)
            {
                (_acknowledged, _old) = (null, 0);
                _ends.Clear();
                return long.MaxValue;
            }

            if (_ends.Count == 0 || time.GetElapsedTime(_newest.Stamp) >= Step)
            {
                _newest = (time.GetTimestamp(), last);
                _ends.Enqueue(_newest);
            }

            while (_ends.TryPeek(out var end) && time.GetElapsedTime(end.Stamp) >= Longest)
            {
                _old = Math.Max(_old, end.Last);
                _ends.Dequeue();
            }

            return Math.Max(acknowledged.Sequence, _old);
        }
    }
}
