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
        Repeat(database => DropEvents(database, before), cancellation);
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

    private static bool DropEvents(Database database, long before)
    {
        Counter.Keep(database);
        database.Prepare("DELETE FROM events WHERE seq IN (SELECT seq FROM events INDEXED BY events_time WHERE t_latest < ? AND seq <= ? LIMIT ?)")
            .Bind(1, before).Bind(2, DoneByAll(database)).Bind(3, EventsPerDelete).Run();
        return database.Changes > 0;
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
