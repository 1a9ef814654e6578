using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>Reads everything there is, checks it and lists what is damaged. Works beside the writer, a page in each snapshot.</summary>
internal sealed class Verifier(ReadPool pool, NameTable names, IProgress<HistorianProgress>? progress, CancellationToken cancellation)
{
    private const int PageRows = 1000;
    private const int KindColumn = 5;

    private static readonly string Select = EventRows.Select.Replace(" FROM events", ", kind FROM events", StringComparison.Ordinal);

    private readonly DamageLog _damage = new();
    private long _done;
    private long _total;

    public IReadOnlyList<Damage> Run()
    {
        var segments = pool.Read(database => Ids(database, "SELECT id FROM segments ORDER BY id", 0));
        _total = segments.Count + pool.Read(database => database.Prepare("SELECT (SELECT count(*) FROM hot) + (SELECT count(*) FROM events)").Scalar());
        var store = new SegmentStore(names, _damage, cacheSamples: 0);
        foreach (var segment in segments)
        {
            pool.Read(database => store.Open(database, segment));
            Advance(1);
        }

        Pages("SELECT first_seq FROM hot WHERE first_seq > ? ORDER BY first_seq LIMIT 1000", CheckHot);
        Pages("SELECT seq FROM events WHERE seq > ? ORDER BY seq LIMIT 1000", CheckEvents);
        return _damage.All;
    }

    private void Pages(string sql, Action<Database, List<long>> check)
    {
        long after = 0;
        List<long> page;
        do
        {
            page = pool.Read(database =>
            {
                var ids = Ids(database, sql, after);
                check(database, ids);
                return ids;
            });
            after = page.Count > 0 ? page[^1] : after;
            Advance(page.Count);
        }
        while (page.Count == PageRows);
    }

    private static List<long> Ids(Database database, string sql, long after)
    {
        var ids = new List<long>();
        var rows = database.Prepare(sql);
        rows.Bind(1, after);
        while (rows.Step())
        {
            ids.Add(rows.Long(0));
        }

        return ids;
    }

    private void CheckHot(Database database, List<long> ids)
    {
        var hot = new HotRows(database, names, _damage);
        var entries = new List<LogEntry>();
        foreach (var id in ids)
        {
            var row = database.Prepare("SELECT first_seq, last_seq, t_first, t_last, sources, body FROM hot WHERE first_seq = ?").Bind(1, id);
            if (row.Step())
            {
                entries.Clear();
                hot.Read(row, washer: null, after: 0, static _ => true, entries);
            }

            row.Reset();
        }
    }

    private void CheckEvents(Database database, List<long> ids)
    {
        var events = new EventRows(_damage);
        foreach (var id in ids)
        {
            var row = database.Prepare($"{Select} WHERE seq = ?").Bind(1, id);
            if (row.Step() && events.Read(row) is { } read)
            {
                events.CheckKind(read, row.Text(KindColumn), id);
            }

            row.Reset();
        }
    }

    private void Advance(int steps)
    {
        cancellation.ThrowIfCancellationRequested();
        _done += steps;
        progress?.Report(new HistorianProgress(_done, Math.Max(_total, _done)));
    }
}
