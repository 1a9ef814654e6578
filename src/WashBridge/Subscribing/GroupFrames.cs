using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Polling;

namespace WashBridge.Subscribing;

/// <summary>One group of a washer: the value of each signal as last told, and the frames that follow from what the server tells.</summary>
internal sealed class GroupFrames
{
    private readonly List<Tag> _tags;
    private readonly TagReading[] _current;
    private readonly Sample[] _samples;
    private readonly ChangeFilter _filter;
    private StampBounds? _last;

    public GroupFrames(string washer, PollGroup group, IReadOnlyList<Tag> tags)
    {
        Group = group;
        _tags = [.. tags];
        _samples = new Sample[tags.Count];
        _current = new TagReading[tags.Count];
        _filter = new ChangeFilter(washer, group, tags);
        Forget();
    }

    public PollGroup Group { get; }

    /// <summary>The last frame said that the group could not be read.</summary>
    public bool IsDown { get; private set; }

    /// <summary>When the group was last known to be as told.</summary>
    public long KnownUntil => _last?.Latest ?? long.MinValue;

    /// <summary>How far its frames reach back at least; nothing for the first one.</summary>
    public long KnownFrom => _last?.Earliest ?? long.MinValue;

    /// <summary>Nothing is known of any value: the next frame is a full one.</summary>
    public void Forget()
    {
        Array.Fill(_current, new TagReading(SignalValue.None, Quality.Bad, "the server has not sent a value yet"));
        _last = null;
        _filter.ForceFull();
    }

    public void Set(int tag, TagReading reading) => _current[tag] = reading;

    /// <summary>All values as they are now set, held at some moment within the bounds. Frames of a group never go back in time.</summary>
    public Frame Keep(StampBounds read, ClockAnchor anchor)
    {
        IsDown = false;
        var following = new StampBounds(Math.Max(read.Earliest, KnownFrom), Math.Max(read.Latest, KnownUntil));
        _last = following;
        var bounds = following.On(anchor);
        for (var i = 0; i < _tags.Count; i++)
        {
            _samples[i] = _current[i].At(_tags[i].Signal, bounds);
        }

        return _filter.Keep(_samples, bounds);
    }

    public Frame Fail(string reason, StampBounds read, ClockAnchor anchor)
    {
        IsDown = true;
        return _filter.Fail(reason, read.On(anchor));
    }
}
