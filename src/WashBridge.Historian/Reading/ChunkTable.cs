using WashBridge.Historian.Encoding;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>Where a sample chunk lies.</summary>
internal readonly record struct SegmentChunkRow(long Segment, int Source, long First, long Last, int Block, int Start, int Length, int Samples);

/// <summary>Reads sample chunks out of the blocks they lie in. The blocks read last are kept, because chunks read together lie together.</summary>
internal sealed class ChunkTable
{
    /// <summary>Some 34 KB each.</summary>
    private const int MostBlocks = 32;

    private readonly RecentCache<(long Segment, int Number), byte[]> _blocks = new(MostBlocks);

    /// <summary>The packed chunk.</summary>
    public ReadOnlySpan<byte> Piece(Database database, SegmentChunkRow chunk)
    {
        var block = _blocks.GetOrAdd((chunk.Segment, chunk.Block), () => Read(database, chunk));
        return chunk.Start >= 0 && chunk.Length >= 0 && chunk.Start <= block.Length - chunk.Length
            ? block.AsSpan(chunk.Start, chunk.Length)
            : throw new DamagedException("the block is too short");
    }

    private static byte[] Read(Database database, in SegmentChunkRow chunk)
    {
        var statement = database.Prepare("SELECT body FROM blocks WHERE segment = ? AND number = ?").Bind(1, chunk.Segment).Bind(2, chunk.Block);
        try
        {
            return statement.Step() ? statement.Blob(0).ToArray() : throw new DamagedException("the block is missing");
        }
        catch (HistorianException e) when (e.Fault is HistorianFault.Damaged)
        {
            throw new DamagedException(e.Message);
        }
        finally
        {
            statement.Reset();
        }
    }

    /// <summary>All chunks of a segment by source and signal.</summary>
    public static Dictionary<(int Source, int Signal), SegmentChunkRow> OfSegment(Database database, long segment)
    {
        var chunks = new Dictionary<(int, int), SegmentChunkRow>();
        var rows = database.Prepare("SELECT segment, source, t_first, t_last, block, start, length, samples, signal FROM chunks WHERE segment = ?").Bind(1, segment);
        while (rows.Step())
        {
            chunks[(rows.Int(1), rows.Int(8))] = At(rows);
        }

        return chunks;
    }

    /// <summary>Columns segment, source, t_first, t_last, block, start, length, samples.</summary>
    public static SegmentChunkRow At(Statement row) =>
        new(row.Long(0), row.Int(1), row.Long(2), row.Long(3), row.Int(4), row.Int(5), row.Int(6), row.Int(7));
}
