using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>The reading side, the same beside a writer in this process, in another, or without any.</summary>
internal sealed class HistorianReader(ReadPool pool) : IHistorianReader
{
    private const int PageEntries = 4096;

    private readonly NameTable _names = new();
    private readonly DamageLog _damage = new();

    public IReadOnlyList<Damage> Damage => _damage.All;

    public long LastSequence => pool.Read(Counter.Last);

    public IReadOnlyList<Signal> Signals => pool.Read(_names.All);

    public IReadOnlyList<LogEntry> ReadLog(long after, int atMost, LogContent content = LogContent.All, string? washer = null)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(after);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(atMost);
        var entries = new List<LogEntry>();
        long? next = after;
        while (next is { } from && entries.Count < atMost)
        {
            var most = Math.Min(atMost, entries.Count + PageEntries);
            next = pool.Read(database => ReadPage(database, from, entries, most, content, washer));
            next ??= entries.Count == most ? entries[^1].Sequence : null;
        }

        return entries;
    }

    public IReadOnlyList<Frame> ReadFrames(string washer, Instant from, Instant until)
    {
        var entries = pool.Read(database =>
        {
            var found = new List<LogEntry>();
            if (_names.WasherId(database, washer) is { } id)
            {
                new HotRows(database, _names, _damage).ReadPeriod(from.UnixMicroseconds, until.UnixMicroseconds, id, read => read.Earliest >= from && read.Latest <= until, found);
            }

            return found;
        });
        entries.Sort(static (a, b) => a.Sequence.CompareTo(b.Sequence));
        return entries.ConvertAll(e => e.Frame!);
    }

    public IReadOnlyList<Sample> ReadSamples(Signal signal, Instant from, Instant until) => throw new NotSupportedException();

    public IReadOnlyList<HourlySummary> ReadHourly(Signal signal, Instant from, Instant until) => throw new NotSupportedException();

    public IReadOnlyList<WashEvent> ReadEvents(EventQuery query) => new EventReader(pool, _names, _damage).Read(query);

    public FollowerState? ReadFollower(string follower) => pool.Read(database =>
    {
        var row = database.Prepare("SELECT seq, state FROM followers WHERE name = ?").Bind(1, follower);
        return row.Step() ? new FollowerState(follower, row.Long(0), row.IsNull(1) ? null : row.Text(1)) : null;
    });

    public void Dispose() => pool.Dispose();

    private long? ReadPage(Database database, long after, List<LogEntry> entries, int atMost, LogContent content, string? washer)
    {
        int? id = null;
        if (washer is not null)
        {
            id = _names.WasherId(database, washer);
            if (id is null)
            {
                return null;
            }
        }

        var cursors = new List<LogCursor>();
        if (content.HasFlag(LogContent.Frames))
        {
            cursors.Add(new HotCursor(new HotRows(database, _names, _damage), after, id));
        }

        if (content.HasFlag(LogContent.Events))
        {
            cursors.Add(new EventCursor(database, new EventRows(_damage), after, id));
        }

        return LogPage.Merge(cursors, entries, atMost);
    }
}
