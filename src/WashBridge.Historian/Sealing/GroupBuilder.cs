using System.Runtime.InteropServices;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian.Encoding;

namespace WashBridge.Historian.Sealing;

/// <summary>Collects the frames of one poll group for a segment, column by column.</summary>
internal sealed class GroupBuilder(int sourceId)
{
    private readonly List<long> _sequences = [];
    private readonly List<byte> _kinds = [];
    private readonly List<long> _earliest = [];
    private readonly List<long> _latest = [];
    private readonly List<int> _sampleCounts = [];

    /// <summary>For every sample, in order, the column it went to.</summary>
    private readonly List<int> _order = [];
    private readonly List<(int Frame, string? Reason, ClockShift? Clock)> _notes = [];
    private readonly List<SampleColumn> _columns = [];
    private readonly Dictionary<Signal, int> _columnOf = new(ReferenceEqualityComparer.Instance);

    public int SourceId => sourceId;

    public IReadOnlyList<SampleColumn> Columns => _columns;

    public int Frames => _sequences.Count;

    public long FirstSequence => _sequences[0];

    public long LastSequence => _sequences[^1];

    public void Add(long sequence, Frame frame, Func<Signal, int> idOf)
    {
        var index = _sequences.Count;
        _sequences.Add(sequence);
        _kinds.Add((byte)frame.Kind);
        _earliest.Add(frame.Read.Earliest.UnixMicroseconds);
        _latest.Add(frame.Read.Latest.UnixMicroseconds);
        if (frame.Reason is not null || frame.Clock is not null)
        {
            _notes.Add((index, frame.Reason, frame.Clock));
        }

        _sampleCounts.Add(frame.Samples.Count);
        for (var i = 0; i < frame.Samples.Count; i++)
        {
            var sample = frame.Samples[i];
            if (!_columnOf.TryGetValue(sample.Signal, out var column))
            {
                column = _columns.Count;
                _columns.Add(new SampleColumn(idOf(sample.Signal), sample.Signal));
                _columnOf.Add(sample.Signal, column);
            }

            _columns[column].Add(index, sample, frame.Read);
            _order.Add(column);
        }
    }

    public void WriteTimes(ByteWriter writer) => TimesColumn.Write(writer, CollectionsMarshal.AsSpan(_earliest), CollectionsMarshal.AsSpan(_latest));

    /// <summary>Everything else about the frames: numbers, kinds, reasons, clock shifts, the order of their samples.</summary>
    public void WriteNotes(ByteWriter writer)
    {
        writer.Varint(Frames);
        long before = 0;
        foreach (var sequence in _sequences)
        {
            writer.Varint((ulong)(sequence - before));
            before = sequence;
        }

        writer.Raw(CollectionsMarshal.AsSpan(_kinds));
        writer.Varint(_notes.Count);
        var previous = 0;
        foreach (var (frame, reason, clock) in _notes)
        {
            writer.Varint(frame - previous);
            previous = frame;
            FrameNote.Write(writer, reason, clock);
        }

        WriteOrder(writer);
    }

    /// <summary>The order of the longest frame is taken for everybody's; frames that differ have theirs written out.</summary>
    private void WriteOrder(ByteWriter writer)
    {
        var rankOf = new int[_columns.Count];
        var columnAt = RankColumns(rankOf);
        writer.Varint(columnAt.Count);
        foreach (var column in columnAt)
        {
            writer.Varint(_columns[column].SignalId);
        }

        var odd = OddFrames(rankOf);
        writer.Varint(odd.Count);
        var previous = 0;
        foreach (var (frame, start) in odd)
        {
            writer.Varint(frame - previous);
            previous = frame;
            writer.Varint(_sampleCounts[frame]);
            for (var i = 0; i < _sampleCounts[frame]; i++)
            {
                writer.Varint(rankOf[_order[start + i]]);
            }
        }
    }

    private List<int> RankColumns(int[] rankOf)
    {
        Array.Fill(rankOf, -1);
        var columnAt = new List<int>();
        var longest = _sampleCounts.Count == 0 ? 0 : _sampleCounts.IndexOf(_sampleCounts.Max());
        var start = _sampleCounts.Take(longest).Sum();
        foreach (var column in _order.Skip(start).Take(_sampleCounts[longest]).Concat(Enumerable.Range(0, _columns.Count)))
        {
            if (rankOf[column] < 0)
            {
                rankOf[column] = columnAt.Count;
                columnAt.Add(column);
            }
        }

        return columnAt;
    }

    /// <summary>Frames whose samples do not come in ascending rank, with where theirs start.</summary>
    private List<(int Frame, int Start)> OddFrames(int[] rankOf)
    {
        var odd = new List<(int, int)>();
        var start = 0;
        for (var frame = 0; frame < _sampleCounts.Count; frame++)
        {
            for (var i = start + 1; i < start + _sampleCounts[frame]; i++)
            {
                if (rankOf[_order[i]] < rankOf[_order[i - 1]])
                {
                    odd.Add((frame, start));
                    break;
                }
            }

            start += _sampleCounts[frame];
        }

        return odd;
    }
}
