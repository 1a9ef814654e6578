using WashBridge.Core.Time;
using WashBridge.Historian.Encoding;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>When the frames of a group of a segment were read.</summary>
internal sealed class Times
{
    private readonly long[] _earliest;
    private readonly long[] _latest;

    private Times(long[] earliest, long[] latest) => (_earliest, _latest) = (earliest, latest);

    public int Count => _earliest.Length;

    public TimeBounds At(int frame) => new(new Instant(_earliest[frame]), new Instant(_latest[frame]));

    public static Times Read(ReadOnlySpan<byte> packed, int frames)
    {
        var reader = new ByteReader(Unpacking.OfThread.Open(packed));
        var (earliest, latest) = (new long[frames], new long[frames]);
        TimesColumn.Read(ref reader, earliest, latest);
        return new Times(earliest, latest);
    }

    /// <summary>The times that belong to a sample chunk.</summary>
    public static Times Read(Database database, in SegmentChunkRow chunk)
    {
        var row = database.Prepare("SELECT frames, times FROM frame_chunks WHERE segment = ? AND source = ?").Bind(1, chunk.Segment).Bind(2, chunk.Source);
        try
        {
            return row.Step() && row.Int(0) is > 0 and <= HistorianLimits.SegmentSamples
                ? Read(row.Blob(1), row.Int(0))
                : throw new DamagedException("the times are missing");
        }
        finally
        {
            row.Reset();
        }
    }
}
