using System.Runtime.InteropServices;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Historian.Encoding;

/// <summary>A sample's own bounds, where they are not those of its frame's read. Relative: microseconds after the read's start, and width.</summary>
internal readonly record struct OwnBounds(int Position, long After, long Width);

/// <summary>The samples of one signal in one group of a segment, column by column (FORMAT.md, "Sample chunks").</summary>
internal sealed class SampleColumn(int signalId, Signal signal)
{
    /// <summary>A sample in every frame from the first to the last.</summary>
    public const byte Dense = 1;

    /// <summary>No sample is earlier than the one before it.</summary>
    public const byte Ascending = 2;

    private readonly List<int> _frames = [];
    private readonly List<double> _numbers = [];
    private readonly List<byte> _qualities = [];
    private readonly List<OwnBounds> _own = [];
    private readonly List<(int Position, string Text)> _texts = [];
    private long _previousLatest = long.MinValue;
    private bool _ascending = true;

    public int SignalId => signalId;

    public Signal Signal => signal;

    public int Count => _frames.Count;

    public ReadOnlySpan<int> Frames => CollectionsMarshal.AsSpan(_frames);

    public ReadOnlySpan<double> Numbers => CollectionsMarshal.AsSpan(_numbers);

    public ReadOnlySpan<byte> Qualities => CollectionsMarshal.AsSpan(_qualities);

    /// <summary>First and last instant of At.Latest, in microseconds.</summary>
    public long First { get; private set; } = long.MaxValue;

    public long Last { get; private set; } = long.MinValue;

    public HourlySums Sums { get; } = new();

    public void Add(int frame, in Sample sample, in TimeBounds read)
    {
        var position = _frames.Count;
        _frames.Add(frame);
        _numbers.Add(sample.Value.Number);
        _qualities.Add((byte)sample.Quality);
        var (earliest, latest) = (sample.At.Earliest.UnixMicroseconds, sample.At.Latest.UnixMicroseconds);
        (First, Last) = (Math.Min(First, latest), Math.Max(Last, latest));
        _ascending &= latest >= _previousLatest;
        _previousLatest = latest;
        if (sample.At != read)
        {
            _own.Add(new OwnBounds(position, earliest - read.Earliest.UnixMicroseconds, latest - earliest));
        }

        if (sample.Value.Text is { } text)
        {
            _texts.Add((position, text));
        }

        Sums.Add(latest, sample.Value.Number, sample.Quality);
    }

    public void Write(ByteWriter writer)
    {
        writer.Varint(Count);
        WriteFrames(writer);
        WriteQualities(writer);
        writer.Varint(_own.Count);
        var before = 0;
        foreach (var own in _own)
        {
            writer.Varint(own.Position - before);
            before = own.Position;
            writer.Zigzag(own.After);
            writer.Zigzag(own.Width);
        }

        WriteTexts(writer);
        NumberColumn.Write(writer, Numbers);
    }

    private void WriteFrames(ByteWriter writer)
    {
        var ascending = _ascending ? Ascending : (byte)0;
        if (_frames[^1] - _frames[0] == Count - 1 && IsRunning())
        {
            writer.Byte((byte)(Dense | ascending));
            writer.Varint(_frames[0]);
            return;
        }

        writer.Byte(ascending);
        var before = 0;
        foreach (var frame in _frames)
        {
            writer.Varint(frame - before);
            before = frame;
        }
    }

    private bool IsRunning()
    {
        for (var i = 1; i < _frames.Count; i++)
        {
            if (_frames[i] != _frames[i - 1] + 1)
            {
                return false;
            }
        }

        return true;
    }

    /// <summary>Runs of the same quality: length and quality in one number.</summary>
    private void WriteQualities(ByteWriter writer)
    {
        var qualities = Qualities;
        while (!qualities.IsEmpty)
        {
            var run = qualities.IndexOfAnyExcept(qualities[0]);
            run = run < 0 ? qualities.Length : run;
            writer.Varint(((ulong)run << 2) | (qualities[0] & 3u));
            qualities = qualities[run..];
        }
    }

    private void WriteTexts(ByteWriter writer)
    {
        var numbers = new Dictionary<string, int>(StringComparer.Ordinal);
        foreach (var (_, text) in _texts)
        {
            numbers.TryAdd(text, numbers.Count);
        }

        writer.Varint(numbers.Count);
        if (numbers.Count == 0)
        {
            return;
        }

        foreach (var text in numbers.Keys)
        {
            writer.Text(text);
        }

        writer.Varint(_texts.Count);
        var before = 0;
        foreach (var (position, text) in _texts)
        {
            writer.Varint(position - before);
            before = position;
            writer.Varint(numbers[text]);
        }
    }
}
