namespace WashBridge.Historian.Storage;

/// <summary>Drops what is older than the site keeps, in short transactions, and gives the space back to the file system.</summary>
internal sealed class Retention(HistorianWriter writer)
{
    private const int HotRowsPerDelete = 500;
    private const int EventsPerDelete = 200;
    private const int PagesPerStep = 256;

    public void ExpireFrames(long before, CancellationToken cancellation)
    {
        Repeat(database => DropSegment(database, before), cancellation);
        Repeat(database => DropHot(database, before), cancellation);
        GiveBack(cancellation);
    }

    public void ExpireEvents(long before, CancellationToken cancellation)
    {
        long? from = long.MinValue;
        Repeat(database => (from = DropEvents(database, from!.Value, before)) is not null, cancellation);
        GiveBack(cancellation);
    }

    /// <summary>The last entry that every follower is done with.</summary>
    private static long DoneByAll(Database database) => database.Prepare("SELECT min(seq) FROM followers").Scalar(long.MaxValue);

    /// <summary>One segment a transaction: false if there is none left to drop.</summary>
    private static bool DropSegment(Database database, long before)
    {
        var oldest = database.Prepare("SELECT id FROM segments WHERE t_last < ? AND last_seq <= ? LIMIT 1").Bind(1, before).Bind(2, DoneByAll(database)).Scalar(-1);
        if (oldest < 0)
        {
            return false;
        }

        SegmentTable.Delete(database, oldest);
        return true;
    }

    private static bool DropHot(Database database, long before)
    {
        Counter.Keep(database);
        database.Prepare("DELETE FROM hot WHERE first_seq IN (SELECT first_seq FROM hot INDEXED BY hot_time WHERE t_last < ? AND last_seq <= ? LIMIT ?)")
            .Bind(1, before).Bind(2, DoneByAll(database)).Bind(3, HotRowsPerDelete).Run();
        return database.Changes > 0;
    }

    /// <summary>
    /// Records stay. Returns from which time on to go on, so that those that stay are not looked at again and again; null at the end.
    /// </summary>
    private static long? DropEvents(Database database, long from, long before)
    {
        Counter.Keep(database);
        var found = new List<(long Sequence, long Time)>();
        var rows = database.Prepare("""
            SELECT seq, t_latest FROM events INDEXED BY events_time WHERE t_latest >= ? AND t_latest < ? AND seq <= ? AND NOT EXISTS (SELECT 1 FROM records WHERE event = seq)
            ORDER BY t_latest LIMIT ?
            """).Bind(1, from).Bind(2, before).Bind(3, DoneByAll(database)).Bind(4, EventsPerDelete);
        while (rows.Step())
        {
            found.Add((rows.Long(0), rows.Long(1)));
        }

        foreach (var (sequence, _) in found)
        {
            database.Prepare("DELETE FROM events WHERE seq = ?").Bind(1, sequence).Run();
            database.Prepare("DELETE FROM kegs WHERE event = ?").Bind(1, sequence).Run();
        }

        return found.Count > 0 ? found[^1].Time : null;
    }

    private void GiveBack(CancellationToken cancellation)
    {
        Repeat(
            database =>
            {
                if (database.Pragma("freelist_count") == 0)
                {
                    return false;
                }

                database.Prepare($"PRAGMA incremental_vacuum({PagesPerStep})").Run();
                return true;
            },
            cancellation);
        writer.Checkpoint();
    }

    private void Repeat(Func<Database, bool> step, CancellationToken cancellation)
    {
        var more = true;
        while (more)
        {
            cancellation.ThrowIfCancellationRequested();
            writer.Write(database => more = step(database));
        }
    }
}
