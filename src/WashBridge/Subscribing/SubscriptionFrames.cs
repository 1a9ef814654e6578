using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Polling;

namespace WashBridge.Subscribing;

/// <summary>
/// Turns what a subscription publishes into the frames that polls would have brought. A value with source time T was sampled not later than T, and the
/// one before it not earlier than T less the sampling interval (OPC 10000-4, 5.13.1.2): so each change becomes two frames over the same
/// interval, one that still shows the old values and one with the new. Everything published at P says as well that nothing else had changed when it
/// was last sampled before P. Pure: stamps come in, frames come out.
/// </summary>
internal sealed class SubscriptionFrames
{
    /// <summary>Values sampled together carry times a little apart: they share a frame up to this part of the sampling interval.</summary>
    private const int TogetherPart = 10;

    private readonly List<GroupFrames> _groups;
    private readonly (GroupFrames Group, int Index)[] _places;
    private readonly long[] _sampling;
    private readonly long _liveness;
    private readonly long _stampsPerSecond;
    private readonly List<Placed> _placed = [];
    private long? _publishedBefore;

    /// <param name="washer">Its groups and tags.</param>
    /// <param name="liveness">The server says so often that nothing has changed. While other groups change it does not: then a group of which nothing was told for half as long gets a frame too.</param>
    /// <param name="stampsPerSecond">Of the monotonic clock.</param>
    public SubscriptionFrames(WasherConfiguration washer, TimeSpan liveness, long stampsPerSecond)
    {
        _stampsPerSecond = stampsPerSecond;
        _liveness = Stamps(liveness);
        _groups = [.. washer.Groups.Select(g => new GroupFrames(washer.Model.Washer, g, [.. washer.Tags.Where(t => t.Group == g.Number)]))];
        _places = new (GroupFrames, int)[washer.Tags.Count];
        var counts = new Dictionary<int, int>();
        for (var i = 0; i < washer.Tags.Count; i++)
        {
            var group = washer.Tags[i].Group;
            counts.TryGetValue(group, out var index);
            _places[i] = (_groups.Find(g => g.Group.Number == group)!, index);
            counts[group] = index + 1;
        }

        _sampling = [.. washer.Groups.Select(g => Stamps(g.Every))];
    }

    public bool IsDown => _groups.TrueForAll(g => g.IsDown);

    /// <summary>The server samples this tag so often; its group's bounds become as wide as its slowest tag's.</summary>
    public void Sample(int tag, TimeSpan interval)
    {
        var group = _groups.IndexOf(_places[tag].Group);
        _sampling[group] = Math.Max(_sampling[group], Stamps(interval));
    }

    /// <summary>The server does not watch this tag: so say its group's next frames.</summary>
    public void Refuse(int tag, string reason) => _places[tag].Group.Set(_places[tag].Index, TagDecoder.Bad(reason));

    /// <summary>A new subscription: nothing from before it counts, and its first message brings all values.</summary>
    /// <param name="asked">When the server was asked for it.</param>
    public void Begin(long asked)
    {
        _publishedBefore = asked;
        for (var i = 0; i < _groups.Count; i++)
        {
            _groups[i].Forget();
            _sampling[i] = Stamps(_groups[i].Group.Every);
        }
    }

    /// <summary>One message of the subscription; without values: a keep-alive.</summary>
    /// <param name="values">In the order in which the server sent them.</param>
    /// <param name="published">When the server began to make the message up, on our clock: nothing is missing that was sampled before.</param>
    /// <param name="received">When it arrived.</param>
    /// <param name="anchor">The wall clock of the frames.</param>
    /// <param name="wasRead">The values were asked for instead, and the message is the answer: they held in between.</param>
    public IReadOnlyList<Frame> Publish(IReadOnlyList<ItemValue> values, StampBounds published, long received, ClockAnchor anchor, bool wasRead = false)
    {
        var frames = new List<Frame>();
        Place(values, new StampBounds(wasRead ? published.Earliest : _publishedBefore ?? published.Earliest, received));
        for (var i = 0; i < _placed.Count;)
        {
            i = Gather(i, anchor, frames);
        }

        for (var i = 0; i < _groups.Count; i++)
        {
            var group = _groups[i];
            if (values.Count == 0 || group.KnownUntil == long.MinValue || published.Latest - group.KnownUntil >= _liveness / 2)
            {
                frames.Add(group.Keep(new StampBounds(published.Earliest - _sampling[i], published.Latest), anchor));
            }
        }

        _publishedBefore = published.Earliest;
        return frames;
    }

    /// <summary>Nothing is known until the next message: one frame for each group that was not down already.</summary>
    public IReadOnlyList<Frame> Fail(string reason, StampBounds read, ClockAnchor anchor) =>
        [.. _groups.Where(g => !g.IsDown).Select(g => g.Fail(reason, read, anchor))];

    /// <summary>
    /// When each value was sampled. The source's time is taken where it can be true: after the message before this one was made up, less a sampling
    /// interval, and before this one arrived. A clock that is off, a time of long ago (as of a value that has stood since before the subscription) or none at
    /// all leave the interval between the two messages; and then so for the whole group, because nothing tells what came first.
    /// </summary>
    private void Place(IReadOnlyList<ItemValue> values, StampBounds since)
    {
        _placed.Clear();
        for (var g = 0; g < _groups.Count; g++)
        {
            var window = since with { Earliest = since.Earliest - _sampling[g] };
            var first = _placed.Count;
            var isTimed = true;
            for (var i = 0; i < values.Count; i++)
            {
                if (_places[values[i].Tag].Group == _groups[g])
                {
                    isTimed &= values[i].Source is { } source && source.Earliest >= window.Earliest && source.Earliest <= window.Latest;
                    Add(values[i], g, i);
                }
            }

            for (var i = first; i < _placed.Count; i++)
            {
                _placed[i] = _placed[i] with { At = isTimed ? Sampled(values[_placed[i].Order].Source!.Value, g, window.Latest) : window };
            }
        }

        InOrder();
    }

    private StampBounds Sampled(StampBounds source, int group, long latest) => new(source.Earliest - _sampling[group], Math.Min(source.Latest, latest));

    private void Add(ItemValue value, int group, int order)
    {
        if (value.IsOverflow && value.Reading.Quality == Quality.Good)
        {
            var doubtful = value.Reading with { Quality = Quality.Uncertain, Reason = "the server dropped values that it could not queue" };
            _placed.Add(new Placed(value.Tag, group, default, doubtful, order));
        }

        _placed.Add(new Placed(value.Tag, group, default, value.Reading, order));
    }

    /// <summary>By time; but values of one tag stay in the order in which they came.</summary>
    private void InOrder()
    {
        var latest = new Dictionary<int, long>();
        for (var i = 0; i < _placed.Count; i++)
        {
            var placed = _placed[i];
            if (latest.TryGetValue(placed.Tag, out var before) && before > placed.At.Latest)
            {
                _placed[i] = placed with { At = placed.At with { Latest = before } };
            }

            latest[placed.Tag] = _placed[i].At.Latest;
        }

        var sorted = _placed.OrderBy(static p => p.At.Latest).ThenBy(static p => p.Order).ToList(); // a stable sort: overflow comes first
        _placed.Clear();
        _placed.AddRange(sorted);
    }

    /// <summary>The values from <paramref name="first"/> on that were sampled together become one frame a group. Returns where the next begin.</summary>
    private int Gather(int first, ClockAnchor anchor, List<Frame> frames)
    {
        var until = _placed[first].At.Latest + (_sampling[_placed[first].Group] / TogetherPart);
        var next = first + 1;
        while (next < _placed.Count && _placed[next].At.Latest <= until && !Has(first, next, _placed[next].Tag))
        {
            next++;
        }

        for (var g = 0; g < _groups.Count; g++)
        {
            if (Span(first, next, g) is not { } read)
            {
                continue;
            }

            // The values before this change still held at the beginning of the interval.
            var group = _groups[g];
            if (group.KnownUntil != long.MinValue && group.KnownFrom < read.Earliest)
            {
                frames.Add(group.Keep(read, anchor));
            }

            for (var i = first; i < next; i++)
            {
                if (_placed[i].Group == g)
                {
                    group.Set(_places[_placed[i].Tag].Index, _placed[i].Reading);
                }
            }

            frames.Add(group.Keep(read, anchor));
        }

        return next;
    }

    private bool Has(int first, int next, int tag)
    {
        for (var i = first; i < next; i++)
        {
            if (_placed[i].Tag == tag)
            {
                return true;
            }
        }

        return false;
    }

    private StampBounds? Span(int first, int next, int group)
    {
        StampBounds? span = null;
        for (var i = first; i < next; i++)
        {
            if (_placed[i].Group == group)
            {
                var at = _placed[i].At;
                span = span is { } so ? new StampBounds(Math.Min(so.Earliest, at.Earliest), Math.Max(so.Latest, at.Latest)) : at;
            }
        }

        return span;
    }

    private long Stamps(TimeSpan span) => (long)(span.TotalSeconds * _stampsPerSecond);

    private readonly record struct Placed(int Tag, int Group, StampBounds At, TagReading Reading, int Order);
}
