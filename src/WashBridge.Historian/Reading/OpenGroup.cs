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

    /// <summary>For each frame where its samples start in the two lists below.</summary>
    private readonly int[] _start;
    private readonly int[] _rank;
    private readonly int[] _position;

    public OpenGroup(Source source, Times times, GroupNotes notes, Signal[] signals, StoredColumn?[] columns)
    {
        (_source, _times, _notes, _signals, _columns) = (source, times, notes, signals, columns);
        _start = new int[Frames + 1];
        foreach (var column in columns)
        {
            foreach (var frame in column?.Frames ?? [])
            {
                _start[frame + 1]++;
            }
        }

        for (var frame = 0; frame < Frames; frame++)
        {
            _start[frame + 1] += _start[frame];
        }

        (_rank, _position) = (new int[_start[^1]], new int[_start[^1]]);
        Place();
        Reorder();
    }

    public int Frames => _notes.Sequences.Length;

    public int Samples => _rank.Length;

    public long Sequence(int frame) => _notes.Sequences[frame];

    public TimeBounds Read(int frame) => _times.At(frame);

    public Frame Build(int frame)
    {
        var read = Read(frame);
        var lost = frame == 0 ? _columns.Count(c => c is null) : 0;
        var count = _start[frame + 1] - _start[frame];
        var samples = count + lost == 0 ? [] : new Sample[count + lost];
        for (var i = 0; i < count; i++)
        {
            var (rank, position) = (_rank[_start[frame] + i], _position[_start[frame] + i]);
            var column = _columns[rank]!;
            samples[i] = new Sample(_signals[rank], column.ValueAt(position), column.QualityAt(position), column.BoundsAt(position, read));
        }

        // In the place of samples that are lost: from here on nothing is known of the signal, until its next sample.
        for (var rank = 0; lost > 0 && rank < _columns.Length; rank++)
        {
            if (_columns[rank] is null)
            {
                samples[count++] = new Sample(_signals[rank], SignalValue.None, Quality.Bad, read);
            }
        }

        var (reason, clock) = _notes.NoteOf(frame);
        return new Frame { Washer = _source.Washer, Group = _source.Group, Kind = (FrameKind)_notes.Kinds[frame], Read = read, Samples = samples, Reason = reason, Clock = clock };
    }

    /// <summary>Samples in ascending rank within each frame.</summary>
    private void Place()
    {
        var next = _start.AsSpan(0, Frames).ToArray();
        for (var rank = 0; rank < _columns.Length; rank++)
        {
            var frames = _columns[rank]?.Frames ?? [];
            for (var position = 0; position < frames.Length; position++)
            {
                var at = next[frames[position]]++;
                (_rank[at], _position[at]) = (rank, position);
            }
        }
    }

    /// <summary>Frames whose samples came in another order.</summary>
    private void Reorder()
    {
        foreach (var (frame, ranks) in _notes.Orders)
        {
            var (start, end) = (_start[frame], _start[frame + 1]);
            var waiting = new Dictionary<int, Queue<int>>();
            for (var i = start; i < end; i++)
            {
                if (!waiting.TryGetValue(_rank[i], out var queue))
                {
                    waiting.Add(_rank[i], queue = []);
                }

                queue.Enqueue(_position[i]);
            }

            var at = start;
            foreach (var rank in ranks)
            {
                if (waiting.TryGetValue(rank, out var queue) && queue.TryDequeue(out var position))
                {
                    (_rank[at], _position[at]) = (rank, position);
                    at++;
                }
            }
        }
    }
}
