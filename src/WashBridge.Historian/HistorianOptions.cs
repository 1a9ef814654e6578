namespace WashBridge.Historian;

/// <summary>How a historian behaves; the defaults suit a site of 20 washers.</summary>
public sealed record HistorianOptions
{
    private readonly int _tailEntries = 4096;
    private readonly int _segmentSamples = 400_000;
    private readonly int _cacheSamples = 4_000_000;
    private readonly int _compressionLevel = 3;
    private readonly long? _bytesAtMost;
    private readonly TimeSpan _lockTimeout = TimeSpan.FromSeconds(5);

    /// <summary>The newest entries of the log kept in memory, so that followers that keep up cost no file access. 0 to 1,000,000; 4,096 by default.</summary>
    public int TailEntries
    {
        get => _tailEntries;
        init => _tailEntries = InRange(value, 0, 1_000_000, nameof(TailEntries));
    }

    /// <summary>Samples in one sealed segment at most: bounds the memory and the length of the transaction of a seal. 1,000 to 4,000,000; 400,000 by default.</summary>
    public int SegmentSamples
    {
        get => _segmentSamples;
        init => _segmentSamples = InRange(value, 1_000, 4_000_000, nameof(SegmentSamples));
    }

    /// <summary>Samples of opened segments kept in memory for readers, about 16 bytes each. 0 to 100,000,000; 4,000,000 by default.</summary>
    public int CacheSamples
    {
        get => _cacheSamples;
        init => _cacheSamples = InRange(value, 0, 100_000_000, nameof(CacheSamples));
    }

    /// <summary>Zstandard level of sealed chunks. 1 to 19; 3 by default.</summary>
    public int CompressionLevel
    {
        get => _compressionLevel;
        init => _compressionLevel = InRange(value, 1, 19, nameof(CompressionLevel));
    }

    /// <summary>The file may grow to this many bytes; an append beyond fails as <see cref="HistorianFault.Full"/>. Null (the default): to the end of the disk.</summary>
    public long? BytesAtMost
    {
        get => _bytesAtMost;
        init => _bytesAtMost = value is null or >= 65_536 ? value : throw new ArgumentOutOfRangeException(nameof(BytesAtMost), value, "65,536 or more");
    }

    /// <summary>How long to wait for a lock that another process holds on the file. 0 to 60 s; 5 s by default.</summary>
    public TimeSpan LockTimeout
    {
        get => _lockTimeout;
        init => _lockTimeout = value >= TimeSpan.Zero && value <= TimeSpan.FromSeconds(60)
            ? value
            : throw new ArgumentOutOfRangeException(nameof(LockTimeout), value, "0 to 60 s");
    }

    private static int InRange(int value, int least, int most, string name) =>
        value >= least && value <= most ? value : throw new ArgumentOutOfRangeException(name, value, $"{least:N0} to {most:N0}");
}
