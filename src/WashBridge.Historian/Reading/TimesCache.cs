using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>The times opened last: the tags of a washer are mostly read one after the other, and share them.</summary>
internal sealed class TimesCache
{
    private const int Most = 16;

    private readonly Lock _lock = new();
    private readonly Queue<(long Segment, int Source)> _order = [];
    private readonly Dictionary<(long Segment, int Source), Times> _times = [];

    public Times Of(Database database, in SegmentChunkRow chunk)
    {
        var key = (chunk.Segment, chunk.Source);
        lock (_lock)
        {
            if (_times.TryGetValue(key, out var known))
            {
                return known;
            }
        }

        var times = Times.Read(database, chunk);
        lock (_lock)
        {
            if (_times.TryAdd(key, times))
            {
                _order.Enqueue(key);
                if (_order.Count > Most)
                {
                    _times.Remove(_order.Dequeue());
                }
            }
        }

        return times;
    }
}
