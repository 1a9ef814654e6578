using WashBridge.Historian.Encoding;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>Where a sample chunk lies.</summary>
internal readonly record struct SegmentChunkRow(long Segment, int Source, long First, long Last, int Block, int Start, int Length, int Samples);

/// <summary>Reads pieces of a segment's blocks; the block read last is kept, because chunks read together lie together.</summary>
internal sealed class ChunkTable(Database database, long segment)
{
    private readonly Statement _statement = database.Prepare("SELECT body FROM blocks WHERE segment = ? AND number = ?");
    private byte[] _block = [];
    private int _number = -1;

    public ReadOnlySpan<byte> Piece(in SegmentChunkRow chunk)
    {
        if (_number != chunk.Block)
        {
            try
            {
                if (!_statement.Bind(1, segment).Bind(2, chunk.Block).Step())
                {
                    throw new DamagedException("the block is missing");
                }

                _block = _statement.Blob(0).ToArray();
                _number = chunk.Block;
            }
            catch (HistorianException e) when (e.Fault is HistorianFault.Damaged)
            {
                throw new DamagedException(e.Message);
            }
            finally
            {
                _statement.Reset();
            }
        }

        return chunk.Start >= 0 && chunk.Length >= 0 && chunk.Start <= _block.Length - chunk.Length
            ? _block.AsSpan(chunk.Start, chunk.Length)
            : throw new DamagedException("the block is too short");
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
