using System.Diagnostics;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Signals;
using WashBridge.Historian.Encoding;

namespace WashBridge.Historian.Storage;

/// <summary>The one connection that writes. Every change of the file goes through it.</summary>
internal sealed class HistorianWriter : IDisposable
{
    private readonly Lock _lock = new();
    private readonly Database _database;
    private readonly WriterRegistry _registry;
    private readonly RecordTable _records;
    private readonly HotBatch _batch;
    private readonly EventBody _body;
    private readonly TimeProvider _time;
    private readonly Tail _tail;
    private readonly Checkpointer _checkpointer;
    private readonly List<LogEntry> _pending = [];
    private long _lastSequence;
    private long _hotSpan;
    private bool _disposed;

    private HistorianWriter(Database database, Checkpointer checkpointer, TimeProvider time, Tail tail, int compressionLevel)
    {
        _body = new EventBody(compressionLevel);
        (_database, _checkpointer, _time, _tail) = (database, checkpointer, time, tail);
        _registry = new WriterRegistry(database);
        _records = new RecordTable(database);
        _batch = new HotBatch(_registry);
        _lastSequence = Counter.Last(database);
        _hotSpan = LoadHotSpan();
        tail.Begin(_lastSequence, Counter.LastOfWashers(database));
    }

    public string Path => _database.Path;

    /// <summary>The version of the format that the file was of; 0 for a new one.</summary>
    public int FoundVersion { get; private init; }

    public long LastSequence => Volatile.Read(ref _lastSequence);

    /// <summary>The longest that an append had to wait until it could begin, because something else was being written.</summary>
    public TimeSpan LongestWait { get; private set; }

    public static HistorianWriter Open(string path, HistorianOptions options, TimeProvider time, Tail tail)
    {
        var database = Database.OpenForWriting(path, options.LockTimeout);
        try
        {
            var found = Schema.Prepare(database, Now(time));
            database.Execute("PRAGMA journal_mode=WAL");
            database.Execute("PRAGMA synchronous=FULL; PRAGMA wal_autocheckpoint=0; PRAGMA journal_size_limit=67108864");
            if (options.BytesAtMost is { } most)
            {
                database.SetPragma("max_page_count", most / database.Pragma("page_size"));
            }

            return new HistorianWriter(database, new Checkpointer(path, options.LockTimeout), time, tail, options.CompressionLevel) { FoundVersion = found };
        }
        catch
        {
            database.Dispose();
            throw;
        }
    }

    public long AppendFrames(IReadOnlyList<Frame> frames, FollowerState? follower) => frames.Count == 0 && follower is null ? LastSequence : Write(() =>
    {
        var last = LastSequence;
        for (var index = 0; index < frames.Count;)
        {
            var next = _batch.Fill(frames, index, last + 1);
            InsertBatch();
            for (; index < next; index++)
            {
                _pending.Add(new LogEntry(++last, frames[index], null));
            }
        }

        if (follower is not null)
        {
            Move(follower, last);
        }
    });

    public long AppendEvents(IReadOnlyList<WashEvent> events, FollowerState? follower) => events.Count == 0 && follower is null ? LastSequence : Write(() =>
    {
        var last = LastSequence;
        foreach (var each in events)
        {
            if (InsertEvent(each, last + 1))
            {
                _pending.Add(new LogEntry(++last, null, each));
            }
        }

        if (follower is not null)
        {
            Move(follower, last);
        }
    });

    public bool RemoveFollower(string follower)
    {
        var removed = false;
        Write(database =>
        {
            database.Prepare("DELETE FROM followers WHERE name = ?").Bind(1, follower).Run();
            removed = database.Changes > 0;
        });
        return removed;
    }

    /// <summary>Runs <paramref name="change"/> as one durable transaction.</summary>
    public void Write(Action<Database> change) => Write(() => change(_database), isAppend: false);

    /// <summary>Runs <paramref name="change"/> as one durable transaction; what it put into the list of pending entries then becomes visible.</summary>
    private long Write(Action change, bool isAppend = true)
    {
        var asked = Stopwatch.GetTimestamp();
        lock (_lock)
        {
            if (isAppend && Stopwatch.GetElapsedTime(asked) is var waited && waited > LongestWait)
            {
                LongestWait = waited;
            }

            ObjectDisposedException.ThrowIf(_disposed, this);
            _pending.Clear();
            _registry.LastSequence = _lastSequence;
            try
            {
                _database.Write(change);
            }
            catch
            {
                _registry.Forget();
                _records.Forget();
                _hotSpan = LoadHotSpan();
                throw;
            }

            _registry.Keep();
            if (_pending.Count > 0)
            {
                _tail.Add(_pending);
                Volatile.Write(ref _lastSequence, _pending[^1].Sequence);
            }

            _checkpointer.AfterCommit(_database.PagesWritten, Pause);
            return _lastSequence;
        }
    }

    /// <summary>Moves the write-ahead log into the file; what was dropped is given back to the file system by that.</summary>
    public void Checkpoint() => _checkpointer.Run(Pause);

    public void Dispose()
    {
        // First: it may be waiting for the lock to finish its work.
        _checkpointer.Dispose();
        lock (_lock)
        {
            _disposed = true;
            _database.Dispose();
            _body.Dispose();
        }
    }

    /// <summary>Runs something while nothing can be committed.</summary>
    private void Pause(Action work)
    {
        lock (_lock)
        {
            ObjectDisposedException.ThrowIf(_disposed, this);
            work();
        }
    }

    private static long Now(TimeProvider time) => Core.Time.Instant.Floor(time.GetUtcNow()).UnixMicroseconds;

    private long LoadHotSpan() => _database.Prepare("SELECT value FROM meta WHERE name = 'hot_span'").Scalar(HotBatch.SpanMicroseconds);

    private void InsertBatch()
    {
        var span = _batch.Last - _batch.First;
        if (span > _hotSpan)
        {
            _hotSpan = span;
            _database.Prepare("INSERT INTO meta VALUES('hot_span', ?1) ON CONFLICT DO UPDATE SET value = max(value, ?1)").Bind(1, span).Run();
        }

        _database.Prepare("INSERT INTO hot VALUES(?, ?, ?, ?, ?, ?)").Bind(1, _batch.FirstSequence).Bind(2, _batch.LastSequence)
            .Bind(3, _batch.First).Bind(4, _batch.Last).Bind(5, _batch.Sources).Bind(6, _batch.Body).Run();
    }

    private bool InsertEvent(WashEvent each, long sequence)
    {
        var body = WashJson.Write(each);
        var utf8 = RecordTable.Utf8(body);
        var row = _database.Prepare("INSERT INTO events VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT(id) DO NOTHING").Bind(1, sequence).Bind(2, each.Id).Bind(3, EventKind.Of(body))
            .Bind(4, _registry.IdOf(each.Washer)).Bind(5, each.CycleId).Bind(6, each.At.Earliest.UnixMicroseconds).Bind(7, each.At.Latest.UnixMicroseconds).Bind(9, Checksum.Of(utf8));
        _body.Bind(row, 8, each, body, utf8).Run();
        if (_database.Changes == 0)
        {
            return false;
        }

        if (each is IRecord)
        {
            _records.Add(sequence, RecordTable.Utf8(each.Id), utf8);
        }

        KegTable.Add(_database, sequence, each);
        return true;
    }

    private void Move(FollowerState follower, long last)
    {
        if (follower.Sequence < 0 || follower.Sequence > last)
        {
            throw new ArgumentOutOfRangeException(nameof(follower), follower.Sequence, $"follower '{follower.Follower}' cannot be past the end of the log, 0 to {last}");
        }

        _database.Prepare("INSERT INTO followers VALUES(?1, ?2, ?3, ?4) ON CONFLICT DO UPDATE SET seq = ?2, state = ?3, moved = ?4")
            .Bind(1, follower.Follower).Bind(2, follower.Sequence).Bind(3, follower.State).Bind(4, Now(_time)).Run();
    }
}
