using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Pairing;

/// <summary>
/// What this bridge has read itself while it copied the other: the part that the copy does not cover yet. When the other is gone, its last frame is followed by our
/// first one after it, and no moment is missing. Both read the same washers, so that a frame of changes fits as well as its predecessor of the other's would have.
/// </summary>
/// <param name="keep">Frames older than that are dropped, as of a washer that only we can read.</param>
internal sealed class Standby(TimeSpan keep)
{
    private readonly LinkedList<Frame> _frames = [];
    private readonly Dictionary<GroupKey, Frame> _down = [];
    private ClockOffset? _offset;

    public void Take(Frame frame)
    {
        _frames.AddLast(frame);
        if (frame.Kind == FrameKind.Failed)
        {
            _down[GroupKey.Of(frame)] = frame;
        }
        else if (frame.Kind != FrameKind.Clock)
        {
            _down.Remove(GroupKey.Of(frame));
        }
    }

    /// <summary>The other has answered, and the copy reaches so far.</summary>
    public void Covered(LastReads copied, ClockOffset offset)
    {
        _offset = offset;
        var oldest = _frames.Last is { } last ? last.Value.Read.Latest - keep : default;
        for (var node = _frames.First; node is not null;)
        {
            var next = node.Next;

            // What our clock did before the answer is in the offset.
            if (node.Value.Kind == FrameKind.Clock || node.Value.Read.Latest < oldest || IsCovered(node.Value, copied))
            {
                _frames.Remove(node);
            }

            node = next;
        }
    }

    /// <summary>Hands out what the log gets from now on, washer by washer in the order in which it was read, and forgets it.</summary>
    /// <param name="copied">How far the copy reaches.</param>
    /// <param name="isCopied">The log's last frames are the other's: between its clock and ours lies what is known of both.</param>
    /// <param name="reason">For the frame that says who reads from now on.</param>
    /// <param name="now">On our clock.</param>
    public IReadOnlyList<Frame> HandOut(LastReads copied, bool isCopied, string reason, Instant now)
    {
        var open = _frames.Where(f => !IsCovered(f, copied)).ToList();
        var frames = new List<Frame>();
        foreach (var washer in open.Select(f => f.Washer).Concat(_down.Keys.Select(k => k.Washer)).Distinct(StringComparer.Ordinal))
        {
            var own = open.Where(f => f.Washer == washer).ToList();
            var from = own.Count > 0 ? own[0].Read.Earliest : now;
            if (isCopied)
            {
                frames.Add(new Frame { Washer = washer, Group = 0, Kind = FrameKind.Clock, Read = TimeBounds.At(from), Clock = _offset?.ToOurs ?? new ClockShift(null), Reason = reason });
            }

            // An outage is told once: one that began before would else go unsaid.
            frames.AddRange(_down.Where(d => d.Key.Washer == washer && !own.Exists(f => ReferenceEquals(f, d.Value))).Select(d => d.Value with { Read = TimeBounds.At(from) }));
            frames.AddRange(own);
        }

        _frames.Clear();
        _down.Clear();
        _offset = null;
        return frames;
    }

    private bool IsCovered(Frame frame, LastReads copied) =>
        frame.Kind != FrameKind.Clock && copied.Of(GroupKey.Of(frame)) is { } last && (_offset?.OnPartners(frame.Read.Latest) ?? frame.Read.Latest) <= last;
}
