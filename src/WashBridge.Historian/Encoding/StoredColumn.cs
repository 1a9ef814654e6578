using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Historian.Encoding;

/// <summary>A sample chunk, opened: what <see cref="SampleColumn"/> wrote.</summary>
internal sealed class StoredColumn
{
    /// <summary>For each sample the number of its frame; null: one in every frame from <see cref="_first"/> on.</summary>
    private readonly int[]? _frames;
    private readonly int _first;
    private readonly byte[]? _qualities;
    private readonly OwnBounds[] _own;
    private readonly Dictionary<int, string>? _texts;

    private StoredColumn((int[]? Frames, int First, bool Ascending) frames, double[] numbers, byte[]? qualities, OwnBounds[] own, Dictionary<int, string>? texts) =>
        ((_frames, _first, IsAscending), Numbers, _qualities, _own, _texts) = (frames, numbers, qualities, own, texts);

    /// <summary>No sample is earlier than the one before it.</summary>
    public bool IsAscending { get; }

    public double[] Numbers { get; }

    public int Count => Numbers.Length;

    /// <summary>The number, in the group, of the frame that held the sample; ascending.</summary>
    public int FrameAt(int position) => _frames is null ? _first + position : _frames[position];

    /// <summary>Whether every one of <paramref name="frames"/> frames holds one sample.</summary>
    public bool IsFull(int frames) => _frames is null && _first == 0 && Count == frames;

    public Quality QualityAt(int position) => _qualities is null ? Quality.Good : (Quality)_qualities[position];

    public SignalValue ValueAt(int position) => new(Numbers[position], _texts is not null && _texts.TryGetValue(position, out var text) ? text : null);

    public TimeBounds BoundsAt(int position, in TimeBounds read)
    {
        if (_own.Length == 0)
        {
            return read;
        }

        var found = Array.BinarySearch(_own, new OwnBounds(position, 0, 0), Comparer<OwnBounds>.Create(static (a, b) => a.Position.CompareTo(b.Position)));
        if (found < 0)
        {
            return read;
        }

        var earliest = read.Earliest.UnixMicroseconds + _own[found].After;
        return new TimeBounds(new Instant(earliest), new Instant(earliest + _own[found].Width));
    }

    /// <summary>The sums of all samples, where they can be told without their times; else null.</summary>
    /// <param name="last">When the last sample was.</param>
    public HourSums? TrySummarise(long last)
    {
        if (!IsAscending || Count == 0 || QualityAt(Count - 1) == Quality.Bad || double.IsNaN(Numbers[^1]))
        {
            return null;
        }

        var sums = default(HourSums);
        for (var i = 0; i < Numbers.Length; i++)
        {
            if (!double.IsNaN(Numbers[i]) && QualityAt(i) != Quality.Bad)
            {
                sums.Add(last, Numbers[i]);
            }
        }

        return sums;
    }

    public static StoredColumn Read(ReadOnlySpan<byte> content, int frameCount)
    {
        var reader = new ByteReader(content);

        // A column of equal values takes hardly a byte a thousand samples: the bound is what a segment can hold.
        var count = reader.Count(HistorianLimits.SegmentSamples);
        var frames = ReadFrames(ref reader, count, frameCount);
        var qualities = ReadQualities(ref reader, count);
        var own = new OwnBounds[reader.Count(count)];
        var position = 0;
        for (var i = 0; i < own.Length; i++)
        {
            position += reader.Count(count - 1 - position);
            own[i] = new OwnBounds(position, reader.Zigzag(), reader.Zigzag());
        }

        var texts = ReadTexts(ref reader, count);
        var numbers = new double[count];
        NumberColumn.Read(ref reader, numbers);
        return new StoredColumn(frames, numbers, qualities, own, texts);
    }

    private static (int[]? Frames, int First, bool Ascending) ReadFrames(ref ByteReader reader, int count, int frameCount)
    {
        var flags = reader.Byte();
        var ascending = (flags & SampleColumn.Ascending) != 0;
        if (count > frameCount && (flags & SampleColumn.Dense) != 0)
        {
            throw new DamagedException("more samples than frames");
        }

        if ((flags & SampleColumn.Dense) != 0)
        {
            return (null, reader.Count(frameCount - count), ascending);
        }

        var frames = new int[count];
        var frame = 0;
        for (var i = 0; i < count; i++)
        {
            frame += reader.Count(frameCount - 1 - frame);
            frames[i] = frame;
        }

        return (frames, 0, ascending);
    }

    private static byte[]? ReadQualities(ref ByteReader reader, int count)
    {
        byte[]? qualities = null;
        for (var done = 0; done < count;)
        {
            var head = reader.Varint();
            var quality = (byte)(head & 3);
            var run = head >> 2;
            if (run == 0 || run > (ulong)(count - done))
            {
                throw new DamagedException("a run of qualities beyond the end");
            }

            if (qualities is null && (quality != (byte)Quality.Good || (int)run != count))
            {
                qualities = new byte[count];
            }

            qualities?.AsSpan(done, (int)run).Fill(quality);
            done += (int)run;
        }

        return qualities;
    }

    private static Dictionary<int, string>? ReadTexts(ref ByteReader reader, int count)
    {
        var distinct = reader.Count(count);
        if (distinct == 0)
        {
            return null;
        }

        var strings = new string[distinct];
        for (var i = 0; i < distinct; i++)
        {
            strings[i] = reader.Text();
        }

        var texts = new Dictionary<int, string>();
        var position = 0;
        for (var left = reader.Count(count); left > 0; left--)
        {
            position += reader.Count(count - 1 - position);
            texts[position] = strings[reader.Count(distinct - 1)];
        }

        return texts;
    }
}
