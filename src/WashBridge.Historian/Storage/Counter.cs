using WashBridge.Historian.Encoding;

namespace WashBridge.Historian.Storage;

/// <summary>
/// The last sequence number given. It follows from what is stored, so that an append need not write it; only what drops entries
/// writes it down first.
/// </summary>
internal static class Counter
{
    public static long Last(Database database)
    {
        var last = database.Prepare("SELECT value FROM meta WHERE name = 'last_sequence'").Scalar();
        last = Math.Max(last, database.Prepare("SELECT last_seq FROM hot ORDER BY first_seq DESC LIMIT 1").Scalar());
        last = Math.Max(last, database.Prepare("SELECT max(sealed_through) FROM washers").Scalar());
        return Math.Max(last, database.Prepare("SELECT max(seq) FROM events").Scalar());
    }

    /// <summary>Writes the number down, before entries that tell it are dropped.</summary>
    public static void Keep(Database database) =>
        database.Prepare("INSERT INTO meta VALUES('last_sequence', ?1) ON CONFLICT DO UPDATE SET value = max(value, ?1)").Bind(1, Last(database)).Run();

    /// <summary>For each washer by name, a number that none of its entries exceeds, and that is near its last.</summary>
    public static IReadOnlyDictionary<string, long> LastOfWashers(Database database)
    {
        var last = new Dictionary<string, long>();
        var rows = database.Prepare("SELECT w.name, max(w.sealed_through, coalesce((SELECT max(seq) FROM events WHERE washer = w.id), 0)) FROM washers w");
        while (rows.Step())
        {
            last.Add(rows.Text(0), rows.Long(1));
        }

        var names = new NameTable();
        var hot = database.Prepare("SELECT last_seq, sources FROM hot ORDER BY first_seq");
        while (hot.Step())
        {
            try
            {
                var sources = new ByteReader(hot.Blob(1));
                while (!sources.AtEnd)
                {
                    var washer = names.Source(database, (int)sources.Varint()).Washer;
                    last[washer] = Math.Max(last[washer], hot.Long(0));
                }
            }
            catch (DamagedException)
            {
                // It could be anybody's; reading will report it.
                foreach (var washer in last.Keys)
                {
                    last[washer] = Math.Max(last[washer], hot.Long(0));
                }
            }
        }

        return last;
    }
}
