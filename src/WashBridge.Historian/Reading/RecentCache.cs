namespace WashBridge.Historian.Reading;

/// <summary>What was read last of things that never change. The tags of a washer are mostly read one after the other, and share times and blocks.</summary>
internal sealed class RecentCache<TKey, TValue>(int most)
    where TKey : notnull
    where TValue : class
{
    private readonly Lock _lock = new();
    private readonly Queue<TKey> _order = [];
    private readonly Dictionary<TKey, TValue> _values = [];

    public TValue GetOrAdd(TKey key, Func<TValue> read)
    {
        lock (_lock)
        {
            if (_values.TryGetValue(key, out var known))
            {
                return known;
            }
        }

        var value = read();
        lock (_lock)
        {
            if (_values.TryAdd(key, value))
            {
                _order.Enqueue(key);
                if (_order.Count > most)
                {
                    _values.Remove(_order.Dequeue());
                }
            }
        }

        return value;
    }
}
