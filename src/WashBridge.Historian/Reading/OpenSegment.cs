using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Historian.Reading;

/// <summary>A segment opened for reading: its groups, and the order of their frames in the log.</summary>
internal sealed class OpenSegment
{
    private readonly IReadOnlyList<OpenGroup> _groups;
    private readonly List<(long Sequence, Frame Frame)> _lost;
    private readonly long[] _sequences;

    /// <summary>Group in the upper half, frame in the lower; group -1: a frame that stands for a lost group.</summary>
    private readonly (int Group, int Frame)[] _order;

    /// <param name="groups">Those that could be opened.</param>
    /// <param name="lost">A failed frame for each that could not.</param>
    public OpenSegment(IReadOnlyList<OpenGroup> groups, List<(long Sequence, Frame Frame)> lost)
    {
        (_groups, _lost) = (groups, lost);
        var count = groups.Sum(g => g.Frames) + lost.Count;
        (_sequences, _order) = (new long[count], new (int, int)[count]);
        var next = 0;
        for (var group = 0; group < groups.Count; group++)
        {
            for (var frame = 0; frame < groups[group].Frames; frame++)
            {
                (_sequences[next], _order[next]) = (groups[group].Sequence(frame), (group, frame));
                next++;
            }
        }

        for (var i = 0; i < lost.Count; i++)
        {
            (_sequences[next], _order[next]) = (lost[i].Sequence, (-1, i));
            next++;
        }

        Array.Sort(_sequences, _order);
    }

    public int Count => _sequences.Length;

    /// <summary>What it weighs in the cache.</summary>
    public int Samples => _groups.Sum(g => g.Samples + g.Frames);

    public long SequenceAt(int index) => _sequences[index];

    /// <summary>The index of the first frame after <paramref name="sequence"/>.</summary>
    public int After(long sequence)
    {
        var found = Array.BinarySearch(_sequences, sequence + 1);
        return found >= 0 ? found : ~found;
    }

    public TimeBounds ReadAt(int index) => _order[index] is (>= 0, _) ? _groups[_order[index].Group].Read(_order[index].Frame) : _lost[_order[index].Frame].Frame.Read;

    /// <summary>Whether the frame stands for data that are lost.</summary>
    public bool IsLost(int index) => _order[index].Group < 0;

    public Frame FrameAt(int index) => _order[index] is (>= 0, _) ? _groups[_order[index].Group].Build(_order[index].Frame) : _lost[_order[index].Frame].Frame;
}
