using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian.Encoding;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>The frames of one poll group of a segment, opened for reading frame by frame.</summary>
internal sealed class OpenGroup
{
    private readonly Source _source;
    private readonly Times _times;
    private readonly GroupNotes _notes;
    private readonly Signal[] _signals;

    /// <summary>By rank; null: damaged.</summary>
    private readonly StoredColumn?[] _columns;

    /// <summary>Ranks that have a sample in every frame: mostly all of them, where controllers are read as a whole.</summary>
    private readonly int[] _full;

    /// <summary>For each frame where its samples of the other ranks start in the two lists below, in ascending rank.</summary>
    private readonly int[] _start;
    private readonly int[] _rank;
    private readonly int[] _position;

    /// <summary>Frames whose samples came in another order.</summary>
    private readonly Dictionary<int, List<(int Rank, int Position)>> _odd = [];

    public OpenGroup(Source source, Times times, GroupNotes notes, Signal[] signals, StoredColumn?[] columns)
    {
        (_source, _times, _notes, _signals, _columns) = (source, times, notes, signals, columns);
        _full = [.. Enumerable.Range(0, columns.Length).Where(rank => columns[rank]?.IsFull(Frames) ?? false)];
        _start = new int[Frames + 1];
        foreach (var column in Sparse().Select(rank => columns[rank]!))
        {
            for (var i = 0; i < column.Count; i++)
            {
                _start[column.FrameAt(i) + 1]++;
            }
        }

        for (var frame = 0; frame < Frames; frame++)
        {
            _start[frame + 1] += _start[frame];
        }

        (_rank, _position) = (new int[_start[^1]], new int[_start[^1]]);
        Place();
        foreach (var (frame, ranks) in notes.Orders)
        {
            _odd.Add(frame, Reorder(Ranked(frame), ranks));
        }
    }

    public int Frames => _notes.Sequences.Length;

    public int Samples => _rank.Length + (_full.Length * Frames);

    public long Sequence(int frame) => _notes.Sequences[frame];

    public TimeBounds Read(int frame) => _times.At(frame);

    public Frame Build(int frame)
    {
        var read = Read(frame);
        var places = _odd.TryGetValue(frame, out var odd) ? odd : Ranked(frame);

        // In the place of samples that are lost: from here on nothing is known of the signal, until its next sample.
        List<int> lost = frame == 0 ? [.. Enumerable.Range(0, _columns.Length).Where(rank => _columns[rank] is null)] : [];
        var samples = places.Count + lost.Count == 0 ? [] : new Sample[places.Count + lost.Count];
        for (var i = 0; i < places.Count; i++)
        {
            var (rank, position) = places[i];
            var column = _columns[rank]!;
            samples[i] = new Sample(_signals[rank], column.ValueAt(position), column.QualityAt(position), column.BoundsAt(position, read));
        }

        for (var i = 0; i < lost.Count; i++)
        {
            samples[places.Count + i] = new Sample(_signals[lost[i]], SignalValue.None, Quality.Bad, read);
        }

        var (reason, clock) = _notes.NoteOf(frame);
        return new Frame { Washer = _source.Washer, Group = _source.Group, Kind = (FrameKind)_notes.Kinds[frame], Read = read, Samples = samples, Reason = reason, Clock = clock };
    }

    private IEnumerable<int> Sparse() => Enumerable.Range(0, _columns.Length).Where(rank => _columns[rank] is { } column && !column.IsFull(Frames));

    private void Place()
    {
        var next = _start.AsSpan(0, Frames).ToArray();
        foreach (var rank in Sparse())
        {
            var column = _columns[rank]!;
            for (var position = 0; position < column.Count; position++)
            {
                var at = next[column.FrameAt(position)]++;
                (_rank[at], _position[at]) = (rank, position);
            }
        }
    }

    /// <summary>Where the frame's samples are, in ascending rank.</summary>
    private List<(int Rank, int Position)> Ranked(int frame)
    {
        var (at, end) = (_start[frame], _start[frame + 1]);
        var places = new List<(int, int)>(end - at + _full.Length);
        foreach (var rank in _full)
        {
            for (; at < end && _rank[at] < rank; at++)
            {
                places.Add((_rank[at], _position[at]));
            }

            places.Add((rank, frame));
        }

        for (; at < end; at++)
        {
            places.Add((_rank[at], _position[at]));
        }

        return places;
    }

    /// <summary>The same samples in the order in which they came; several of one signal stay in theirs.</summary>
    private static List<(int Rank, int Position)> Reorder(List<(int Rank, int Position)> places, List<int> ranks)
    {
        var waiting = places.GroupBy(p => p.Rank).ToDictionary(g => g.Key, g => new Queue<int>(g.Select(p => p.Position)));
        var ordered = new List<(int, int)>(places.Count);
        foreach (var rank in ranks)
        {
            // A damaged column has none.
            if (waiting.TryGetValue(rank, out var queue) && queue.TryDequeue(out var position))
            {
                ordered.Add((rank, position));
            }
        }

        return ordered;
    }
}
