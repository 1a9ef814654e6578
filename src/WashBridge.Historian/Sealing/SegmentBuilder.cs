using WashBridge.Core.Signals;
using WashBridge.Historian.Encoding;

namespace WashBridge.Historian.Sealing;

/// <summary>Gathers a washer's frames, in log order, into a segment of at most an hour and a bounded number of samples.</summary>
internal sealed class SegmentBuilder(int washerId, int mostSamples, Func<string, int, int> sourceOf, Func<Signal, int> idOf)
{
    /// <summary>Chunks share blocks of this size, because each row of a table wastes half a page.</summary>
    private const int BlockBytes = 32 * 1024;

    /// <summary>Polls of different groups overlap: a read that began a little before the hour still belongs to the hour's segment.</summary>
    private const long SlackMicroseconds = 60_000_000;

    /// <summary>From a segment's first to its last read: never more.</summary>
    public const long SpanMicroseconds = HourlySums.HourMicroseconds + SlackMicroseconds;

    /// <summary>By poll group.</summary>
    private readonly Dictionary<int, GroupBuilder> _groups = [];
    private long _hour;
    private long _firstSequence;
    private long _lastSequence;
    private long _first = long.MaxValue;
    private long _last = long.MinValue;
    private int _frames;
    private int _samples;

    public bool IsEmpty => _frames == 0;

    /// <summary>Whether the frame can go into this segment.</summary>
    public bool Fits(Frame frame)
    {
        var at = frame.Read.Latest.UnixMicroseconds;
        return IsEmpty || (_samples + _frames < mostSamples && at >= _hour - SlackMicroseconds && at < _hour + HourlySums.HourMicroseconds);
    }

    public void Add(long sequence, Frame frame)
    {
        var at = frame.Read.Latest.UnixMicroseconds;
        if (IsEmpty)
        {
            (_hour, _firstSequence) = (HourlySums.HourOf(at), sequence);
        }

        _lastSequence = sequence;
        (_first, _last) = (Math.Min(_first, at), Math.Max(_last, at));
        _frames++;
        _samples += frame.Samples.Count;
        if (!_groups.TryGetValue(frame.Group, out var group))
        {
            group = new GroupBuilder(sourceOf(frame.Washer, frame.Group));
            _groups.Add(frame.Group, group);
        }

        group.Add(sequence, frame, idOf);
    }

    public Segment Finish(Packing packing)
    {
        var blocks = new List<byte[]>();
        var chunks = new List<SegmentChunk>();
        var groups = new List<SegmentGroup>();
        var hours = new List<(int, long, HourSums)>();
        var content = new ByteWriter();
        var block = new ByteWriter(2 * BlockBytes);
        foreach (var group in _groups.Values)
        {
            groups.Add(new SegmentGroup(group.SourceId, group.FirstSequence, group.LastSequence, group.Frames, Pack(group.WriteTimes), Pack(group.WriteNotes)));
            foreach (var column in group.Columns)
            {
                if (block.Length >= BlockBytes)
                {
                    blocks.Add(block.Written.ToArray());
                    block.Clear();
                }

                content.Clear();
                column.Write(content);
                var start = block.Length;
                packing.Pack(content.Written, block);
                chunks.Add(new SegmentChunk(column.SignalId, group.SourceId, column.First, column.Last, blocks.Count, start, block.Length - start, column.Count));
                hours.AddRange(column.Sums.Hours.Select(h => (column.SignalId, h.Key, h.Value)));
            }
        }

        if (block.Length > 0)
        {
            blocks.Add(block.Written.ToArray());
        }

        return new Segment
        {
            WasherId = washerId,
            FirstSequence = _firstSequence,
            LastSequence = _lastSequence,
            First = _first,
            Last = _last,
            Frames = _frames,
            Samples = _samples,
            Groups = groups,
            Blocks = blocks,
            Chunks = chunks,
            Hours = Combine(hours),
        };

        byte[] Pack(Action<ByteWriter> write)
        {
            content.Clear();
            write(content);
            var packed = new ByteWriter();
            packing.Pack(content.Written, packed);
            return packed.Written.ToArray();
        }
    }

    /// <summary>One row an hour and signal, also for a signal that two groups read.</summary>
    private static List<(int SignalId, long Hour, HourSums Sums)> Combine(List<(int SignalId, long Hour, HourSums Sums)> hours)
    {
        var combined = new Dictionary<(int, long), HourSums>();
        foreach (var (signal, hour, sums) in hours)
        {
            combined.TryGetValue((signal, hour), out var sofar);
            sofar.Add(sums);
            combined[(signal, hour)] = sofar;
        }

        return [.. combined.Select(c => (c.Key.Item1, c.Key.Item2, c.Value))];
    }
}
