using WashBridge.Core.Records;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>Reads the chain of records, and what is known of a keg.</summary>
internal sealed class RecordReader(ReadPool pool, DamageLog damage)
{
    private const int PageRecords = 1000;

    private readonly EventRows _rows = new(damage);

    public RecordHead? Head() => pool.Read(RecordTable.Head) is (> 0 and var number, var hash) ? new RecordHead(number, RecordChain.Hex(hash)) : null;

    /// <summary>Records after a number. One that cannot be read is reported as damage and left out: its number is missing.</summary>
    public IReadOnlyList<RecordEntry> Read(long after, int atMost)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(after);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(atMost);
        var found = new List<RecordEntry>();
        while (found.Count < atMost && pool.Read(database => ReadPage(database, after, Math.Min(PageRecords, atMost - found.Count), found)) is { } last)
        {
            after = last;
        }

        return found;
    }

    public IReadOnlyList<KegEntry> ReadKeg(string kegId) => pool.Read(database =>
    {
        var found = new List<KegEntry>();
        var rows = database.Prepare($"{Select("number")} FROM kegs k JOIN events ON seq = k.event LEFT JOIN records r ON r.event = seq WHERE k.keg = ? ORDER BY k.event").Bind(1, kegId);
        while (rows.Step())
        {
            if (_rows.Read(rows) is { } read)
            {
                found.Add(new KegEntry(rows.Long(0), rows.IsNull(5) ? null : rows.Long(5), read));
            }
        }

        return found;
    });

    private static string Select(string more) => EventRows.Select.Replace(" FROM events", $", {more}", StringComparison.Ordinal);

    private long? ReadPage(Database database, long after, int atMost, List<RecordEntry> found)
    {
        var rows = database.Prepare($"{Select("number, hash")} FROM records JOIN events ON seq = event WHERE number > ? ORDER BY number LIMIT ?").Bind(1, after).Bind(2, atMost);
        long? last = null;
        while (rows.Step())
        {
            last = rows.Long(5);
            if (_rows.Read(rows) is { } read and IRecord)
            {
                found.Add(new RecordEntry(last.Value, rows.Long(0), read, RecordChain.Hex(rows.Blob(6))));
            }
        }

        return last;
    }
}
