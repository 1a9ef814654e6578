using System.Text;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>Answers event queries: first which events, then their bodies page by page, so that no snapshot lasts long.</summary>
internal sealed class EventReader(ReadPool pool, NameTable names, DamageLog damage)
{
    private const int PageEvents = 1000;

    private readonly EventRows _rows = new(damage);

    public List<LogEntry> Read(EventQuery query) => ReadAt(pool.Read(database => Find(database, query)));

    /// <summary>The events at these places in the log, in the order given.</summary>
    public List<LogEntry> ReadAt(IReadOnlyCollection<long> sequences)
    {
        var events = new List<LogEntry>(sequences.Count);
        foreach (var page in sequences.Chunk(PageEvents))
        {
            pool.Read(database => Load(database, page, events));
        }

        return events;
    }

    /// <summary>Events of some kinds after a place in the log. The bodies of others are not read.</summary>
    public IReadOnlyList<LogEntry> ReadLog(long after, int atMost, IReadOnlyCollection<string> kinds)
    {
        var found = new List<LogEntry>();
        while (found.Count < atMost && pool.Read(database => LoadPage(database, after, Math.Min(PageEvents, atMost - found.Count), kinds, found)) is { } last)
        {
            after = last;
        }

        return found;
    }

    /// <summary>Returns the last place looked at, or null at the end. The plus keeps SQLite from sorting what the index by kind brings: the log is read in order.</summary>
    private long? LoadPage(Database database, long after, int atMost, IReadOnlyCollection<string> kinds, List<LogEntry> found)
    {
        var statement = database.Prepare($"{EventRows.Select} WHERE seq > ? AND +kind IN ({string.Join(", ", kinds.Select(_ => "?"))}) ORDER BY seq LIMIT ?");
        var at = 0;
        statement.Bind(++at, after);
        foreach (var kind in kinds)
        {
            statement.Bind(++at, kind);
        }

        statement.Bind(++at, atMost);
        long? last = null;
        while (statement.Step())
        {
            last = statement.Long(0);
            if (_rows.Read(statement) is { } each)
            {
                found.Add(new LogEntry(last.Value, null, each));
            }
        }

        return last;
    }

    private List<long> Find(Database database, EventQuery query)
    {
        var washer = query.Washer is null ? null : names.WasherId(database, query.Washer);
        if ((query.Washer is not null && washer is null) || query.Kinds is { Count: 0 } || query.AtMost <= 0)
        {
            return [];
        }

        var statement = database.Prepare(Sql(query));
        var at = 0;
        Bind(query.CycleId);
        Bind(query.KegId);
        foreach (var kind in query.Kinds ?? [])
        {
            Bind(kind);
        }

        BindNumber(query.From?.UnixMicroseconds);
        BindNumber(query.Until?.UnixMicroseconds);
        BindNumber(washer);
        statement.Bind(++at, query.AtMost ?? int.MaxValue);

        var sequences = new List<long>();
        while (statement.Step())
        {
            sequences.Add(statement.Long(0));
        }

        return sequences;

        void Bind(string? value)
        {
            if (value is not null)
            {
                statement.Bind(++at, value);
            }
        }

        void BindNumber(long? value)
        {
            if (value is { } number)
            {
                statement.Bind(++at, number);
            }
        }
    }

    private static string Sql(EventQuery query)
    {
        var sql = new StringBuilder("SELECT seq FROM events WHERE 1");
        sql.Append(query.CycleId is null ? "" : " AND cycle = ?");
        sql.Append(query.KegId is null ? "" : " AND seq IN (SELECT event FROM kegs WHERE keg = ?)");
        sql.Append(query.Kinds is null ? "" : $" AND kind IN ({string.Join(", ", query.Kinds.Select(_ => "?"))})");
        sql.Append(query.From is null ? "" : " AND t_latest >= ?");
        sql.Append(query.Until is null ? "" : " AND t_earliest < ?");
        sql.Append(query.Washer is null ? "" : " AND washer = ?");
        return sql.Append(" ORDER BY seq LIMIT ?").ToString();
    }

    private int Load(Database database, long[] sequences, List<LogEntry> events)
    {
        var statement = database.Prepare($"{EventRows.Select} WHERE seq = ?");
        foreach (var sequence in sequences)
        {
            if (statement.Bind(1, sequence).Step() && _rows.Read(statement) is { } found)
            {
                events.Add(new LogEntry(sequence, null, found));
            }

            statement.Reset();
        }

        return events.Count;
    }
}
