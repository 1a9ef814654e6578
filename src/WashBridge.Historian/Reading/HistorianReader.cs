using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian.Sealing;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>The reading side, the same beside a writer in this process, in another, or without any.</summary>
internal sealed class HistorianReader : IHistorianReader
{
    private const int PageEntries = 4096;

    private readonly ReadPool _pool;
    private readonly SegmentStore _segments;
    private readonly SampleReader _samples;

    public HistorianReader(ReadPool pool, HistorianOptions options)
    {
        _pool = pool;
        _segments = new SegmentStore(Names, DamageFound, options.CacheSamples);
        _samples = new SampleReader(pool, Names, DamageFound);
    }

    public NameTable Names { get; } = new();

    public DamageLog DamageFound { get; } = new();

    public IReadOnlyList<Damage> Damage => DamageFound.All;

    public long LastSequence => _pool.Read(Counter.Last);

    public IReadOnlyList<Signal> Signals => _pool.Read(NameTable.All);

    /// <summary>The table of hot batches is not gone through: it holds their bodies as well.</summary>
    public StoreFigures ReadFigures() => _pool.Read(database =>
    {
        long Number(string sql) => database.Prepare(sql).Scalar();
        Instant? Time(string sql) => database.Prepare(sql).Scalar(long.MinValue) is > long.MinValue and var microseconds ? new Instant(microseconds) : null;
        Instant? Earlier(Instant? a, Instant? b) => a is { } one && b is { } other ? Instant.Min(one, other) : a ?? b;
        Instant? Later(Instant? a, Instant? b) => a is { } one && b is { } other ? Instant.Max(one, other) : a ?? b;
        return new StoreFigures(
            Number("SELECT count(*) FROM hot"),
            Number("SELECT count(*) FROM segments"),
            Number("SELECT total(frames) FROM segments"),
            Number("SELECT total(samples) FROM segments"),
            Earlier(Time("SELECT min(t_first) FROM segments"), Time("SELECT t_first FROM hot ORDER BY first_seq LIMIT 1")),
            Later(Time("SELECT max(t_last) FROM segments"), Time("SELECT max(t_last) FROM hot")));
    });

    public IReadOnlyList<LogEntry> ReadLog(long after, int atMost, LogContent content = LogContent.All, string? washer = null)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(after);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(atMost);
        var entries = new List<LogEntry>();
        long? next = after;
        while (next is { } from && entries.Count < atMost)
        {
            var most = Math.Min(atMost, entries.Count + PageEntries);
            next = _pool.Read(database => ReadPage(database, from, entries, most, content, washer));
            next ??= entries.Count == most ? entries[^1].Sequence : null;
        }

        return entries;
    }

    public IReadOnlyList<LogEntry> ReadEventLog(long after, int atMost, IReadOnlyCollection<string> kinds)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(after);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(atMost);
        return new EventReader(_pool, Names, DamageFound).ReadLog(after, atMost, kinds);
    }

    public IReadOnlyList<Frame> ReadFrames(string washer, Instant from, Instant until) => ReadFrameEntries(washer, from, until).ConvertAll(e => e.Frame!);

    public IReadOnlyList<LogEntry> ReadFrameLog(string washer, Instant from, Instant until) => ReadFrameEntries(washer, from, until);

    private List<LogEntry> ReadFrameEntries(string washer, Instant from, Instant until)
    {
        var found = new List<LogEntry>();
        var segments = _pool.Read(database =>
        {
            if (Names.WasherId(database, washer) is not { } id)
            {
                return [];
            }

            new HotRows(database, Names, DamageFound).ReadPeriod(from.UnixMicroseconds, until.UnixMicroseconds, id, read => read.Earliest >= from && read.Latest <= until, found);
            return SegmentsOf(database, id, from, until);
        });
        foreach (var segment in segments)
        {
            if (_pool.Read(database => _segments.Open(database, segment)) is { } open)
            {
                AddFrames(open, from, until, found);
            }
        }

        found.Sort(static (a, b) => a.Sequence.CompareTo(b.Sequence));
        return found;
    }

    public IReadOnlyList<Sample> ReadSamples(Signal signal, Instant from, Instant until) => _samples.Read(signal, from, until);

    public IReadOnlyList<HourlySummary> ReadHourly(Signal signal, Instant from, Instant until) => new HourlyReader(_pool, Names, _samples).Read(signal, from, until);

    public SignalParts ReadParts(Signal signal, Instant from, Instant until, int count) => _samples.ReadParts(signal, from, until, count);

    /// <summary>The same from samples alone, for comparison.</summary>
    public IReadOnlyList<HourlySummary> SummariseSamples(Signal signal, Instant from, Instant until) => _samples.Summarise(signal, from, until);

    public IReadOnlyList<WashEvent> ReadEvents(EventQuery query) => new EventReader(_pool, Names, DamageFound).Read(query).ConvertAll(e => e.Event!);

    public IReadOnlyList<LogEntry> ReadEventLog(EventQuery query) => new EventReader(_pool, Names, DamageFound).Read(query);

    public IReadOnlyList<LogEntry> ReadEventsAt(IReadOnlyCollection<long> sequences) => new EventReader(_pool, Names, DamageFound).ReadAt([.. sequences.Distinct().Order()]);

    public FollowerState? ReadFollower(string follower) => _pool.Read(database =>
    {
        var row = database.Prepare("SELECT seq, state FROM followers WHERE name = ?").Bind(1, follower);
        return row.Step() ? new FollowerState(follower, row.Long(0), row.IsNull(1) ? null : row.Text(1)) : null;
    });

    public IReadOnlyList<FollowerPlace> ReadFollowers() => _pool.Read(database =>
    {
        var followers = new List<FollowerPlace>();
        var rows = database.Prepare("SELECT name, seq, moved FROM followers ORDER BY name");
        while (rows.Step())
        {
            followers.Add(new FollowerPlace(rows.Text(0), rows.Long(1), new Instant(rows.Long(2))));
        }

        return followers;
    });

    public RecordHead? RecordHead => new RecordReader(_pool, DamageFound).Head();

    public IReadOnlyList<RecordEntry> ReadRecords(long after, int atMost) => new RecordReader(_pool, DamageFound).Read(after, atMost);

    public IReadOnlyList<KegEntry> ReadKeg(string kegId) => new RecordReader(_pool, DamageFound).ReadKeg(kegId);

    public IReadOnlyDictionary<string, IReadOnlyList<KegMark>> ReadKegMarks(IReadOnlyCollection<string> kegIds) => new KegReader(_pool).ReadMarks(kegIds);

    public IReadOnlyList<string> ReadKegIds() => new KegReader(_pool).ReadIds();

    public RecordCheck VerifyRecords(RecordHead? expected = null, IProgress<HistorianProgress>? progress = null, CancellationToken cancellation = default) =>
        new RecordVerifier(_pool, expected, progress, cancellation).Run();

    public IReadOnlyList<Damage> Verify(IProgress<HistorianProgress>? progress = null, CancellationToken cancellation = default) =>
        new Verifier(_pool, Names, progress, cancellation).Run();

    public void Dispose() => _pool.Dispose();

    private long? ReadPage(Database database, long after, List<LogEntry> entries, int atMost, LogContent content, string? washer)
    {
        int? id = null;
        if (washer is not null)
        {
            id = Names.WasherId(database, washer);
            if (id is null)
            {
                return null;
            }
        }

        var cursors = new List<LogCursor>();
        if (content.HasFlag(LogContent.Frames))
        {
            AddSegments(database, id, after, cursors);
            cursors.Add(new HotCursor(new HotRows(database, Names, DamageFound), after, id));
        }

        if (content.HasFlag(LogContent.Events))
        {
            cursors.Add(new EventCursor(database, new EventRows(DamageFound), after, id));
        }

        return LogPage.Merge(cursors, entries, atMost);
    }

    private static List<long> SegmentsOf(Database database, int washer, Instant from, Instant until)
    {
        var segments = new List<long>();
        var rows = database.Prepare("SELECT id FROM segments WHERE washer = ? AND t_last >= ? AND t_last <= ? AND t_first <= ?")
            .Bind(1, washer).Bind(2, from.UnixMicroseconds).Bind(3, Saturate.Add(until.UnixMicroseconds, SegmentBuilder.SpanMicroseconds)).Bind(4, until.UnixMicroseconds);
        while (rows.Step())
        {
            segments.Add(rows.Long(0));
        }

        return segments;
    }

    private static void AddFrames(OpenSegment segment, Instant from, Instant until, List<LogEntry> found)
    {
        for (var i = 0; i < segment.Count; i++)
        {
            var read = segment.ReadAt(i);
            if (segment.IsLost(i) ? read.Latest >= from && read.Earliest <= until : read.Earliest >= from && read.Latest <= until)
            {
                found.Add(new LogEntry(segment.SequenceAt(i), segment.FrameAt(i), null));
            }
        }
    }

    /// <summary>A cursor for each washer that has sealed frames after <paramref name="after"/>: none for followers that keep up.</summary>
    private void AddSegments(Database database, int? washer, long after, List<LogCursor> cursors)
    {
        var sealedAfter = new List<int>();
        var washers = database.Prepare("SELECT id FROM washers WHERE sealed_through > ?1 AND (?2 = 0 OR id = ?2)").Bind(1, after).Bind(2, washer ?? 0);
        while (washers.Step())
        {
            sealedAfter.Add(washers.Int(0));
        }

        cursors.AddRange(sealedAfter.Select(id => new SegmentCursor(database, _segments, id, after)));
    }
}
