using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Encoding;

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

    /// <summary>Adds the samples of one signal in the frame that the reader stands on.</summary>
    public readonly void Collect(Signal signal, int signalId, List<Sample> samples)
    {
        var reader = new ByteReader(_frame);
        FrameNote.Read(ref reader);
        var id = 0;
        for (var left = reader.Count(reader.Left); left > 0; left--)
        {
            id += (int)reader.Zigzag();
            var sample = HotSample.Read(ref reader, signal, Read);
            if (id == signalId)
            {
                samples.Add(sample);
            }
        }
    }
}
