using WashBridge.Core.Signals;
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
        if (frame.Group is < 0 or > 255)
        {
            throw new ArgumentOutOfRangeException(nameof(frame), frame.Group, $"the poll group of a frame of washer '{frame.Washer}' must be 0 to 255");
        }

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
            if (sample.Signal.Washer != frame.Washer)
            {
                throw new ArgumentException($"a frame of washer '{frame.Washer}' cannot hold a sample of {sample.Signal}", nameof(frame));
            }

            var id = registry.IdOf(sample.Signal);
            HotSample.Write(_body, sample, id - previous, frame.Read);
            previous = id;
        }

        _body.Close(opened);
    }
}
