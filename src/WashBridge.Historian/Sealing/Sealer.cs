using WashBridge.Core.Time;
using WashBridge.Historian.Encoding;
using WashBridge.Historian.Reading;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Sealing;

/// <summary>
/// Turns hot rows into segments, washer by washer. Reading, sorting and compressing happen beside the writer; each segment is then
/// stored in one short transaction together with how far its washer is sealed, so that a crash between any two leaves nothing twice and nothing out.
/// </summary>
internal sealed class Sealer(ReadPool pool, NameTable names, DamageLog damage, HistorianWriter writer, HistorianOptions options)
{
    private const int PageEntries = 2000;
    private const int RowsPerDelete = 200;

    private readonly Lock _oneAtATime = new();

    public void Seal(Instant before, CancellationToken cancellation)
    {
        lock (_oneAtATime)
        {
            var (through, washers) = pool.Read(database => Plan(database, before.UnixMicroseconds));
            using var packing = new Packing(options.CompressionLevel);
            foreach (var (washer, sealedThrough) in washers)
            {
                SealWasher(washer, sealedThrough, through, packing, cancellation);
            }

            DropSealed(cancellation);
        }
    }

    /// <summary>
    /// The last entry to seal, and the washers that are not sealed so far. What lies before an old row in the log is sealed with it even if its time is
    /// later: it was written before the clock was put back.
    /// </summary>
    private static (long Through, List<(int Washer, long SealedThrough)> Washers) Plan(Database database, long before)
    {
        var through = database.Prepare("SELECT last_seq FROM hot WHERE first_seq = (SELECT max(first_seq) FROM hot INDEXED BY hot_time WHERE t_last < ?)").Bind(1, before).Scalar();
        var washers = new List<(int, long)>();
        var rows = database.Prepare("SELECT id, sealed_through FROM washers WHERE sealed_through < ? ORDER BY id").Bind(1, through);
        while (rows.Step())
        {
            washers.Add((rows.Int(0), rows.Long(1)));
        }

        return (through, washers);
    }

    private void SealWasher(int washer, long sealedThrough, long through, Packing packing, CancellationToken cancellation)
    {
        var builder = NewBuilder(washer);
        for (long? after = sealedThrough; after < through;)
        {
            cancellation.ThrowIfCancellationRequested();
            var entries = new List<LogEntry>();
            var from = after.Value;
            after = pool.Read(database => LogPage.Merge([new HotCursor(new HotRows(database, names, damage), from, washer)], entries, PageEntries));
            after ??= entries.Count == PageEntries ? entries[^1].Sequence : null;
            foreach (var entry in entries)
            {
                if (entry.Sequence > through)
                {
                    after = null;
                    break;
                }

                if (!builder.Fits(entry.Frame!))
                {
                    Store(builder.Finish(packing), entry.Sequence - 1);
                    builder = NewBuilder(washer);
                }

                builder.Add(entry.Sequence, entry.Frame!);
            }
        }

        if (builder.IsEmpty)
        {
            writer.Write(database => SetSealed(database, washer, through));
        }
        else
        {
            Store(builder.Finish(packing), through);
        }
    }

    private SegmentBuilder NewBuilder(int washer) => new(washer, options.SegmentSamples,
        (name, group) => pool.Read(database => names.SourceId(database, name, group)),
        signal => pool.Read(database => names.IdOf(database, signal)!.Value));

    private void Store(Segment segment, long through) => writer.Write(database =>
    {
        SegmentTable.Insert(database, segment);
        SetSealed(database, segment.WasherId, through);
    });

    private static void SetSealed(Database database, int washer, long through) =>
        database.Prepare("UPDATE washers SET sealed_through = max(sealed_through, ?) WHERE id = ?").Bind(1, through).Bind(2, washer).Run();

    /// <summary>Deletes rows of which every washer's frames are sealed.</summary>
    private void DropSealed(CancellationToken cancellation)
    {
        var more = true;
        while (more)
        {
            cancellation.ThrowIfCancellationRequested();
            writer.Write(database =>
            {
                database.Prepare("""
                    DELETE FROM hot WHERE first_seq IN (
                        SELECT first_seq FROM hot WHERE last_seq <= (SELECT min(sealed_through) FROM washers) AND first_seq <= (SELECT min(sealed_through) FROM washers) ORDER BY first_seq LIMIT ?)
                    """).Bind(1, RowsPerDelete).Run();
                more = database.Changes > 0;
            });
        }
    }
}
