using WashBridge.Historian.Sealing;

namespace WashBridge.Historian.Storage;

/// <summary>Stores and drops segments, inside the caller's transaction.</summary>
internal static class SegmentTable
{
    public static void Insert(Database database, Segment segment)
    {
        database.Prepare("INSERT INTO segments(washer, first_seq, last_seq, t_first, t_last, frames, samples) VALUES(?, ?, ?, ?, ?, ?, ?)")
            .Bind(1, segment.WasherId).Bind(2, segment.FirstSequence).Bind(3, segment.LastSequence).Bind(4, segment.First).Bind(5, segment.Last)
            .Bind(6, segment.Frames).Bind(7, segment.Samples).Run();
        var id = database.Prepare("SELECT last_insert_rowid()").Scalar();
        foreach (var group in segment.Groups)
        {
            database.Prepare("INSERT INTO frame_chunks VALUES(?, ?, ?, ?, ?, ?, ?)").Bind(1, id).Bind(2, group.SourceId).Bind(3, group.FirstSequence)
                .Bind(4, group.LastSequence).Bind(5, group.Frames).Bind(6, group.Times).Bind(7, group.Notes).Run();
        }

        for (var number = 0; number < segment.Blocks.Count; number++)
        {
            database.Prepare("INSERT INTO blocks VALUES(?, ?, ?)").Bind(1, id).Bind(2, number).Bind(3, segment.Blocks[number]).Run();
        }

        foreach (var chunk in segment.Chunks)
        {
            database.Prepare("INSERT INTO chunks VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?)").Bind(1, chunk.SignalId).Bind(2, chunk.Last).Bind(3, id).Bind(4, chunk.SourceId)
                .Bind(5, chunk.First).Bind(6, chunk.Block).Bind(7, chunk.Start).Bind(8, chunk.Length).Bind(9, chunk.Samples).Run();
            database.Prepare("UPDATE signals SET chunk_span = ?1 WHERE id = ?2 AND chunk_span < ?1").Bind(1, chunk.Last - chunk.First).Bind(2, chunk.SignalId).Run();
        }

        foreach (var (signal, hour, sums) in segment.Hours)
        {
            database.Prepare("INSERT INTO hourly VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?)").Bind(1, signal).Bind(2, hour).Bind(3, id).Bind(4, sums.Count)
                .Bind(5, sums.Minimum).Bind(6, sums.Maximum).Bind(7, sums.Sum).Bind(8, sums.Last).Bind(9, sums.LastAt).Run();
        }
    }

    /// <summary>Drops a segment's frames and samples; its hourly summaries stay.</summary>
    public static void Delete(Database database, long id)
    {
        database.Prepare("DELETE FROM chunks WHERE segment = ?").Bind(1, id).Run();
        database.Prepare("DELETE FROM blocks WHERE segment = ?").Bind(1, id).Run();
        database.Prepare("DELETE FROM frame_chunks WHERE segment = ?").Bind(1, id).Run();
        database.Prepare("DELETE FROM segments WHERE id = ?").Bind(1, id).Run();
    }
}
