namespace WashBridge.Historian.Storage;

/// <summary>
/// The newest entries in memory. Followers ask many times a second whether there is anything new: while they keep up, the answer
/// comes from here.
/// </summary>
internal sealed class Tail(int capacity)
{
    private readonly Lock _lock = new();
    private readonly LogEntry[] _entries = new LogEntry[capacity];
    private readonly Dictionary<string, long> _lastOfWasher = [];
    private long _start;
    private long _last;

    /// <summary>Where the file stands when it is opened.</summary>
    public void Begin(long last, IEnumerable<KeyValuePair<string, long>> lastOfWashers)
    {
        (_start, _last) = (last, last);
        foreach (var (washer, sequence) in lastOfWashers)
        {
            _lastOfWasher[washer] = sequence;
        }
    }

    /// <summary>Adds entries that were committed, in order.</summary>
    public void Add(IReadOnlyList<LogEntry> entries)
    {
        lock (_lock)
        {
            foreach (var entry in entries)
            {
                _last = entry.Sequence;
                _lastOfWasher[entry.Frame?.Washer ?? entry.Event!.Washer] = entry.Sequence;
                if (capacity > 0)
                {
                    _entries[entry.Sequence % capacity] = entry;
                }
            }

            _start = Math.Max(_start, _last - capacity);
        }
    }

    /// <summary>False if the answer is not here.</summary>
    public bool TryRead(long after, int atMost, LogContent content, string? washer, out IReadOnlyList<LogEntry> found)
    {
        lock (_lock)
        {
            found = [];
            if (after >= (washer is null ? _last : _lastOfWasher.GetValueOrDefault(washer)))
            {
                return true;
            }

            if (after < _start)
            {
                return false;
            }

            var entries = new List<LogEntry>();
            for (var sequence = after + 1; sequence <= _last && entries.Count < atMost; sequence++)
            {
                var entry = _entries[sequence % capacity];
                if (content.HasFlag(entry.Frame is null ? LogContent.Events : LogContent.Frames) && (washer is null || washer == (entry.Frame?.Washer ?? entry.Event!.Washer)))
                {
                    entries.Add(entry);
                }
            }

            found = entries;
            return true;
        }
    }
}
