using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian.Reading;
using WashBridge.Historian.Sealing;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian;

/// <summary>
/// The embedded historian: one file that one process writes and any number read. Safe for use by several threads. Every append is on disk when it
/// returns; an append that throws has stored nothing.
/// </summary>
public sealed class Historian : IHistorian
{
    private readonly FileStream _lockFile;
    private readonly HistorianWriter _writer;
    private readonly HistorianReader _reader;
    private readonly Tail _tail;

    private readonly Sealer _sealer;

    private Historian(FileStream lockFile, HistorianWriter writer, HistorianReader reader, Tail tail, ReadPool pool, HistorianOptions options)
    {
        (_lockFile, _writer, _reader, _tail) = (lockFile, writer, reader, tail);
        _sealer = new Sealer(pool, reader.Names, reader.DamageFound, writer, options);
    }

    /// <summary>The file.</summary>
    public string Path => _writer.Path;

    /// <summary>What opening did to a file of an older version, as a sentence for people; null: nothing.</summary>
    public string? Upgrade => _writer.FoundVersion is var found && found > 0 && found < Schema.Current
        ? $"{Path}: brought from version {found} of its format to version {Schema.Current}. All that it held is kept. An older program cannot read it any more."
        : null;

    public long LastSequence => _writer.LastSequence;

    /// <summary>The longest that an append has waited so far for sealing, retention or another append to let it begin.</summary>
    public TimeSpan LongestWait => _writer.LongestWait;

    public IReadOnlyList<Signal> Signals => _reader.Signals;

    public IReadOnlyList<Damage> Damage => _reader.Damage;

    /// <summary>Opens a historian for writing, making the file if there is none and bringing an older one up to date.</summary>
    /// <exception cref="HistorianException">Another process writes to it, it cannot be written, it is not a historian, or it is of a newer version.</exception>
    public static Historian Open(string path, HistorianOptions options, TimeProvider time)
    {
        var lockFile = WriterLock.Take(path);
        HistorianWriter? writer = null;
        try
        {
            var tail = new Tail(options.TailEntries);
            writer = HistorianWriter.Open(path, options, time, tail);
            var pool = new ReadPool(path, options.LockTimeout);
            return new Historian(lockFile, writer, new HistorianReader(pool, options), tail, pool, options);
        }
        catch
        {
            writer?.Dispose();
            lockFile.Dispose();
            throw;
        }
    }

    /// <summary>Opens a historian for reading: while a service writes to it, or at rest, also where nothing can be written.</summary>
    /// <exception cref="HistorianException">There is no such file, it is not a historian, or it is of another version.</exception>
    public static IHistorianReader OpenReader(string path)
    {
        var options = new HistorianOptions();
        var reader = new HistorianReader(new ReadPool(path, options.LockTimeout), options);
        try
        {
            _ = reader.LastSequence;
            return reader;
        }
        catch
        {
            reader.Dispose();
            throw;
        }
    }

    public IReadOnlyList<LogEntry> ReadLog(long after, int atMost, LogContent content = LogContent.All, string? washer = null) =>
        _tail.TryRead(after, atMost, content, washer, out var entries) ? entries : _reader.ReadLog(after, atMost, content, washer);

    public IReadOnlyList<LogEntry> ReadEventLog(long after, int atMost, IReadOnlyCollection<string> kinds) => _tail.TryRead(after, int.MaxValue, LogContent.Events, null, out var entries)
        ? [.. entries.Where(e => kinds.Contains(WashJson.KindOf(e.Event!))).Take(atMost)]
        : _reader.ReadEventLog(after, atMost, kinds);

    public IReadOnlyList<Frame> ReadFrames(string washer, Instant from, Instant until) => _reader.ReadFrames(washer, from, until);

    public IReadOnlyList<LogEntry> ReadFrameLog(string washer, Instant from, Instant until) => _reader.ReadFrameLog(washer, from, until);

    public IReadOnlyList<Sample> ReadSamples(Signal signal, Instant from, Instant until) => _reader.ReadSamples(signal, from, until);

    public IReadOnlyList<HourlySummary> ReadHourly(Signal signal, Instant from, Instant until) => _reader.ReadHourly(signal, from, until);

    public SignalParts ReadParts(Signal signal, Instant from, Instant until, int count) => _reader.ReadParts(signal, from, until, count);

    public IReadOnlyList<WashEvent> ReadEvents(EventQuery query) => _reader.ReadEvents(query);

    public IReadOnlyList<LogEntry> ReadEventLog(EventQuery query) => _reader.ReadEventLog(query);

    public IReadOnlyList<LogEntry> ReadEventsAt(IReadOnlyCollection<long> sequences) => _reader.ReadEventsAt(sequences);

    public FollowerState? ReadFollower(string follower) => _reader.ReadFollower(follower);

    public IReadOnlyList<FollowerPlace> ReadFollowers() => _reader.ReadFollowers();

    public RecordHead? RecordHead => _reader.RecordHead;

    public IReadOnlyList<RecordEntry> ReadRecords(long after, int atMost) => _reader.ReadRecords(after, atMost);

    public IReadOnlyList<KegEntry> ReadKeg(string kegId) => _reader.ReadKeg(kegId);

    public IReadOnlyDictionary<string, IReadOnlyList<KegMark>> ReadKegMarks(IReadOnlyCollection<string> kegIds) => _reader.ReadKegMarks(kegIds);

    public IReadOnlyList<string> ReadKegIds() => _reader.ReadKegIds();

    public RecordCheck VerifyRecords(RecordHead? expected = null, IProgress<HistorianProgress>? progress = null, CancellationToken cancellation = default) =>
        _reader.VerifyRecords(expected, progress, cancellation);

    public IReadOnlyList<Damage> Verify(IProgress<HistorianProgress>? progress = null, CancellationToken cancellation = default) => _reader.Verify(progress, cancellation);

    public long AppendFrames(IReadOnlyList<Frame> frames, FollowerState? follower = null) => _writer.AppendFrames(frames, follower);

    public long AppendEvents(IReadOnlyList<WashEvent> events, FollowerState? follower = null) => _writer.AppendEvents(events, follower);

    public void Seal(Instant before, CancellationToken cancellation = default) => _sealer.Seal(before, cancellation);

    public void Expire(Instant before, CancellationToken cancellation = default) => new Retention(_writer).ExpireFrames(before.UnixMicroseconds, cancellation);

    /// <summary>Drops events that ended before <paramref name="before"/>, except records, which stay for good. Never passes a follower that is behind.</summary>
    public void ExpireEvents(Instant before, CancellationToken cancellation = default) => new Retention(_writer).ExpireEvents(before.UnixMicroseconds, cancellation);

    /// <summary>What the file holds, hot and sealed. A query over its small tables and indexes; not for every second.</summary>
    public StoreFigures ReadFigures() => _reader.ReadFigures();

    public bool RemoveFollower(string follower) => _writer.RemoveFollower(follower);

    public void Dispose()
    {
        _reader.Dispose();
        _writer.Dispose();
        _lockFile.Dispose();
    }
}
