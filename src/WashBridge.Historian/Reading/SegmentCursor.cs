using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>The sealed frames of one washer.</summary>
internal sealed class SegmentCursor(Database database, SegmentStore store, int washer, long after) : LogCursor
{
    private OpenSegment? _segment;
    private int _index;
    private long _done = after;

    public override LogEntry Current => new(Sequence, _segment!.FrameAt(_index), null);

    public override bool MoveNext()
    {
        _index++;
        while (_segment is null || _index >= _segment.Count)
        {
            var next = database.Prepare("SELECT id, last_seq FROM segments WHERE washer = ? AND last_seq > ? ORDER BY last_seq LIMIT 1").Bind(1, washer).Bind(2, _done);
            if (!next.Step())
            {
                return false;
            }

            var (id, last) = (next.Long(0), next.Long(1));
            next.Reset();
            _segment = store.Open(database, id);
            _index = _segment?.After(_done) ?? 0;
            _done = last;
        }

        Sequence = _segment.SequenceAt(_index);
        return true;
    }
}
