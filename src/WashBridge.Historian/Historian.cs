using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian.Reading;
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

    private Historian(FileStream lockFile, HistorianWriter writer, HistorianReader reader, Tail tail) =>
        (_lockFile, _writer, _reader, _tail) = (lockFile, writer, reader, tail);

    public long LastSequence => _writer.LastSequence;

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
            return new Historian(lockFile, writer, new HistorianReader(new ReadPool(path, options.LockTimeout)), tail);
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
        var reader = new HistorianReader(new ReadPool(path, new HistorianOptions().LockTimeout));
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

    public IReadOnlyList<Frame> ReadFrames(string washer, Instant from, Instant until) => _reader.ReadFrames(washer, from, until);

    public IReadOnlyList<Sample> ReadSamples(Signal signal, Instant from, Instant until) => _reader.ReadSamples(signal, from, until);

    public IReadOnlyList<HourlySummary> ReadHourly(Signal signal, Instant from, Instant until) => _reader.ReadHourly(signal, from, until);

    public IReadOnlyList<WashEvent> ReadEvents(EventQuery query) => _reader.ReadEvents(query);

    public FollowerState? ReadFollower(string follower) => _reader.ReadFollower(follower);

    public long AppendFrames(IReadOnlyList<Frame> frames) => _writer.AppendFrames(frames);

    public long AppendEvents(IReadOnlyList<WashEvent> events, FollowerState? follower = null) => _writer.AppendEvents(events, follower);

    public void Seal(Instant before, CancellationToken cancellation = default) => throw new NotSupportedException();

    public void Expire(Instant before, CancellationToken cancellation = default) => throw new NotSupportedException();

    public void Dispose()
    {
        _reader.Dispose();
        _writer.Dispose();
        _lockFile.Dispose();
    }
}
