using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Pairing;

/// <summary>A group of a washer.</summary>
internal readonly record struct GroupKey(string Washer, int Group)
{
    public static GroupKey Of(Frame frame) => new(frame.Washer, frame.Group);
}

/// <summary>When each group was last read, by the frames of a log.</summary>
internal sealed class LastReads
{
    /// <summary>So far back from the log's end groups are looked for: with a hundred washers of three groups, some minute at one read a second.</summary>
    private const int Tail = 20_000;

    private readonly Dictionary<GroupKey, Instant> _last = [];

    public static LastReads Of(IHistorianReader historian)
    {
        var reads = new LastReads();
        for (var after = Math.Max(0, historian.LastSequence - Tail); historian.ReadLog(after, 4096, LogContent.Frames) is { Count: > 0 } page; after = page[^1].Sequence)
        {
            foreach (var entry in page)
            {
                reads.Take(entry.Frame!);
            }
        }

        return reads;
    }

    public Instant? Of(GroupKey group) => _last.TryGetValue(group, out var last) ? last : null;

    /// <summary>Of all groups.</summary>
    public Instant? Latest => _last.Count > 0 ? _last.Values.Max() : null;

    public IReadOnlyDictionary<GroupKey, Instant> ToDictionary() => new Dictionary<GroupKey, Instant>(_last);

    public void Take(Frame frame)
    {
        if (frame.Kind != FrameKind.Clock)
        {
            _last[GroupKey.Of(frame)] = frame.Read.Latest;
        }
    }
}
