using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian.Encoding;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>Opens segments, and keeps the ones used last.</summary>
internal sealed class SegmentStore(NameTable names, DamageLog damage, int cacheSamples)
{
    private readonly Lock _lock = new();
    private readonly LinkedList<(long Id, OpenSegment Segment)> _recent = [];
    private readonly Dictionary<long, LinkedListNode<(long Id, OpenSegment Segment)>> _byId = [];
    private long _weight;

    /// <summary>The segment, or null if it has been dropped meanwhile.</summary>
    public OpenSegment? Open(Database database, long id)
    {
        lock (_lock)
        {
            if (_byId.TryGetValue(id, out var node))
            {
                _recent.Remove(node);
                _recent.AddFirst(node);
                return node.Value.Segment;
            }
        }

        var segment = Load(database, id);
        if (segment is not null)
        {
            Keep(id, segment);
        }

        return segment;
    }

    private void Keep(long id, OpenSegment segment)
    {
        lock (_lock)
        {
            if (segment.Samples > cacheSamples || _byId.ContainsKey(id))
            {
                return;
            }

            _byId.Add(id, _recent.AddFirst((id, segment)));
            _weight += segment.Samples;
            while (_weight > cacheSamples && _recent.Last is { } oldest)
            {
                _recent.RemoveLast();
                _byId.Remove(oldest.Value.Id);
                _weight -= oldest.Value.Segment.Samples;
            }
        }
    }

    private OpenSegment? Load(Database database, long id)
    {
        var row = database.Prepare("SELECT t_first, t_last FROM segments WHERE id = ?").Bind(1, id);
        if (!row.Step())
        {
            return null;
        }

        var time = new TimeBounds(new Instant(row.Long(0)), new Instant(row.Long(1)));
        row.Reset();
        var chunks = ChunkTable.OfSegment(database, id);
        var blocks = new ChunkTable();
        var groups = new List<OpenGroup>();
        var lost = new List<(long, Frame)>();
        var rows = database.Prepare("SELECT source, first_seq, last_seq, times, notes FROM frame_chunks WHERE segment = ? ORDER BY source").Bind(1, id);
        while (rows.Step())
        {
            var source = names.Source(database, rows.Int(0));
            try
            {
                var notes = GroupNotes.Read(Unpacking.OfThread.Open(rows.Blob(4)));
                var times = Times.Read(rows.Blob(3), notes.Sequences.Length);
                var signals = Array.ConvertAll(notes.SignalIds, signal => names.Signal(database, signal));
                var columns = Array.ConvertAll(notes.SignalIds, signal => Column(database, blocks, chunks, id, signal, source, notes, time));
                groups.Add(new OpenGroup(source, times, notes, signals, columns));
            }
            catch (DamagedException e)
            {
                var found = new Damage($"segment {id}, frames of {source.Washer} group {source.Group}", rows.Long(1), rows.Long(2), time, e.Message);
                damage.Add(found);
                lost.Add((rows.Long(1), new Frame { Washer = source.Washer, Group = source.Group, Kind = FrameKind.Failed, Read = time, Reason = $"stored data is damaged: {found.Place}, {e.Message}" }));
            }
        }

        return new OpenSegment(groups, lost);
    }

    private StoredColumn? Column(Database database, ChunkTable blocks, Dictionary<(int, int), SegmentChunkRow> chunks, long id, int signal, Source source, GroupNotes notes, TimeBounds time)
    {
        try
        {
            return chunks.TryGetValue((source.Id, signal), out var chunk)
                ? StoredColumn.Read(Unpacking.OfThread.Open(blocks.Piece(database, chunk)), notes.Sequences.Length)
                : throw new DamagedException("the chunk is missing");
        }
        catch (DamagedException e)
        {
            damage.Add(new Damage($"segment {id}, samples of signal {signal}", notes.Sequences[0], notes.Sequences[^1], time, e.Message));
            return null;
        }
    }
}
