using WashBridge.Historian.Encoding;

namespace WashBridge.Historian.Sealing;

/// <summary>A stretch of one washer's log, ready to be stored (FORMAT.md, "Segments").</summary>
internal sealed record Segment
{
    public required int WasherId { get; init; }

    public required long FirstSequence { get; init; }

    public required long LastSequence { get; init; }

    /// <summary>First and last instant of the frames' Read.Latest, in microseconds.</summary>
    public required long First { get; init; }

    public required long Last { get; init; }

    public required int Frames { get; init; }

    public required int Samples { get; init; }

    public required IReadOnlyList<SegmentGroup> Groups { get; init; }

    public required IReadOnlyList<byte[]> Blocks { get; init; }

    public required IReadOnlyList<SegmentChunk> Chunks { get; init; }

    public required IReadOnlyList<(int SignalId, long Hour, HourSums Sums)> Hours { get; init; }
}

internal sealed record SegmentGroup(int SourceId, long FirstSequence, long LastSequence, int Frames, byte[] Times, byte[] Notes);

/// <summary>Where a signal's samples of a group lie in the blocks.</summary>
internal readonly record struct SegmentChunk(int SignalId, int SourceId, long First, long Last, int Block, int Start, int Length, int Samples);
