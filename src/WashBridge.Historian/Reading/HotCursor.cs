using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>Frames of the hot table, less those that are sealed already.</summary>
internal sealed class HotCursor : LogCursor
{
    /// <summary>Rows looked at in one snapshot at most.</summary>
    private const int MostRows = 20_000;

    private readonly HotRows _rows;
    private readonly Statement _statement;
    private readonly long _after;
    private readonly int? _washer;
    private readonly List<LogEntry> _entries = [];
    private int _next;
    private int _looked;
    private long _lookedThrough;

    public HotCursor(HotRows rows, long after, int? washer)
    {
        (_rows, _after, _washer) = (rows, after, washer);
        _statement = rows.Database.Prepare("""
            SELECT first_seq, last_seq, t_first, t_last, sources, body FROM hot
            WHERE first_seq >= coalesce((SELECT max(first_seq) FROM hot WHERE first_seq <= ?1), 0) ORDER BY first_seq
            """).Bind(1, after + 1);
    }

    public override LogEntry Current => _entries[_next - 1];

    public override bool MoveNext()
    {
        while (_next == _entries.Count)
        {
            if (_looked == MostRows)
            {
                (Sequence, IsPause) = (_lookedThrough, true);
                return true;
            }

            if (!_statement.Step())
            {
                return false;
            }

            _looked++;
            _entries.Clear();
            _next = 0;
            _rows.Read(_statement, _washer, _after, static _ => true, _entries);
            _lookedThrough = Math.Max(_after, _statement.Long(1));
        }

        Sequence = _entries[_next].Sequence;
        _next++;
        return true;
    }
}
