using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Encoding;

/// <summary>Encodes frames as they arrive into rows of the hot table (FORMAT.md, "Hot batches").</summary>
internal sealed class HotBatch(WriterRegistry registry)
{
    /// <summary>A row covers at most this much time unless a single frame does, so that a row of a given time is found by its end alone.</summary>
    public const long SpanMicroseconds = 60_000_000;

    private const int MostFrames = 1024;
    private const int MostBytes = 256 * 1024;

    private readonly ByteWriter _body = new();
    private readonly ByteWriter _sourceList = new(64);
    private readonly HashSet<int> _sources = [];
    private long _previousEarliest;

    public long FirstSequence { get; private set; }

    public long LastSequence { get; private set; }

    public long First { get; private set; }

    public long Last { get; private set; }

    public ReadOnlySpan<byte> Sources => _sourceList.Written;

    public ReadOnlySpan<byte> Body => _body.Written;

    /// <summary>Encodes the frames from <paramref name="index"/> on that fit one row; returns the index of the first that does not.</summary>
    public int Fill(IReadOnlyList<Frame> frames, int index, long firstSequence)
    {
        _body.Clear();
        _sourceList.Clear();
        _sources.Clear();
        _previousEarliest = 0;
        FirstSequence = firstSequence;
        var start = index;
        (First, Last) = Span(frames[index]);
        while (true)
        {
            Write(frames[index]);
            index++;
            if (index == frames.Count || index - start == MostFrames || _body.Length >= MostBytes)
            {
                break;
            }

            var (first, last) = Span(frames[index]);
            (first, last) = (Math.Min(first, First), Math.Max(last, Last));
            if (last - first > SpanMicroseconds)
            {
                break;
            }

            (First, Last) = (first, last);
        }

        LastSequence = firstSequence + (index - start) - 1;
        Checksum.Append(_body);
        return index;
    }

    /// <summary>From the first to the last instant by which the frame, or one of its samples, can be asked for.</summary>
    private static (long First, long Last) Span(Frame frame)
    {
        var first = frame.Read.Latest.UnixMicroseconds;
        var last = first;
        for (var i = 0; i < frame.Samples.Count; i++)
        {
            var at = frame.Samples[i].At.Latest.UnixMicroseconds;
            first = Math.Min(first, at);
            last = Math.Max(last, at);
        }

        return (first, last);
    }

    private void Write(Frame frame)
    {
        var source = registry.IdOf(frame.Washer, frame.Group);
        if (_sources.Add(source))
        {
            _sourceList.Varint(source);
        }

        _body.Varint(source);
        var opened = _body.Open();
        _body.Byte((byte)frame.Kind);
        var earliest = frame.Read.Earliest.UnixMicroseconds;
        _body.Zigzag(earliest - _previousEarliest);
        _previousEarliest = earliest;
        _body.Zigzag(frame.Read.Latest.UnixMicroseconds - earliest);
        FrameNote.Write(_body, frame.Reason, frame.Clock);
        var samples = frame.Samples;
        _body.Varint(samples.Count);
        var previous = 0;
        for (var i = 0; i < samples.Count; i++)
        {
            var sample = samples[i];
            var id = registry.IdOf(sample.Signal);
            HotSample.Write(_body, sample, id - previous, frame.Read);
            previous = id;
        }

        _body.Close(opened);
    }
}

/// <summary>Walks the frames of a hot row, building only those that are asked for.</summary>
internal ref struct HotBatchReader
{
    private readonly long _lastSequence;
    private ByteReader _reader;
    private ReadOnlySpan<byte> _frame;
    private long _previousEarliest;

    public HotBatchReader(ReadOnlySpan<byte> body, long firstSequence, long lastSequence)
    {
        _reader = new ByteReader(Checksum.Strip(body));
        _lastSequence = lastSequence;
        Sequence = firstSequence - 1;
    }

    public long Sequence { get; private set; }

    public int Source { get; private set; }

    public FrameKind Kind { get; private set; }

    public TimeBounds Read { get; private set; }

    public bool MoveNext()
    {
        if (_reader.AtEnd)
        {
            return Sequence == _lastSequence ? false : throw new DamagedException("a batch with the wrong number of frames");
        }

        Sequence++;
        Source = (int)_reader.Varint();
        _frame = _reader.Raw((int)_reader.Fixed32());
        var reader = new ByteReader(_frame);
        Kind = (FrameKind)reader.Byte();
        _previousEarliest += reader.Zigzag();
        Read = new TimeBounds(new Instant(_previousEarliest), new Instant(_previousEarliest + reader.Zigzag()));
        _frame = _frame[reader.Position..];
        return true;
    }

    /// <summary>The frame that the reader stands on.</summary>
    public readonly Frame Build(Database database, NameTable names)
    {
        var reader = new ByteReader(_frame);
        var (reason, clock) = FrameNote.Read(ref reader);
        var count = reader.Count(reader.Left);
        var samples = count == 0 ? [] : new Sample[count];
        var signal = 0;
        for (var i = 0; i < count; i++)
        {
            signal += (int)reader.Zigzag();
            samples[i] = HotSample.Read(ref reader, names.Signal(database, signal), Read);
        }

        var source = names.Source(database, Source);
        return new Frame { Washer = source.Washer, Group = source.Group, Kind = Kind, Read = Read, Samples = samples, Reason = reason, Clock = clock };
    }
}

/// <summary>What few frames have: a reason, a clock shift.</summary>
internal static class FrameNote
{
    private const byte HasReason = 1;
    private const byte HasClock = 2;
    private const byte ShiftKnown = 4;

    public static void Write(ByteWriter writer, string? reason, ClockShift? clock)
    {
        var flags = (reason is null ? 0 : HasReason) | (clock is null ? 0 : HasClock) | (clock?.Shift is null ? 0 : ShiftKnown);
        writer.Byte((byte)flags);
        if (reason is not null)
        {
            writer.Text(reason);
        }

        if (clock?.Shift is { } shift)
        {
            writer.Zigzag(shift.Ticks);
        }
    }

    public static (string? Reason, ClockShift? Clock) Read(ref ByteReader reader)
    {
        var flags = reader.Byte();
        var reason = (flags & HasReason) != 0 ? reader.Text() : null;
        if ((flags & HasClock) == 0)
        {
            return (reason, null);
        }

        return (reason, new ClockShift((flags & ShiftKnown) != 0 ? new TimeSpan(reader.Zigzag()) : null));
    }
}
