using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Polling;

/// <summary>
/// Turns everything a poll read into the frame worth keeping: all signals at first, after a failure and at every heartbeat;
/// between those, only what changed by more than its dead band. A frame without samples still says: read, nothing changed.
/// </summary>
internal sealed class ChangeFilter(string washer, PollGroup group, IReadOnlyList<Tag> tags)
{
    private readonly Sample[] _recorded = new Sample[tags.Count];
    private readonly List<Sample> _changed = new(tags.Count);
    private Instant _fullUntil = new(long.MinValue);

    /// <param name="samples">One for each tag of the group, in the order of the tags.</param>
    /// <param name="read">First request sent to last response received.</param>
    public Frame Keep(ReadOnlySpan<Sample> samples, TimeBounds read)
    {
        var full = read.Latest >= _fullUntil;
        if (full)
        {
            _fullUntil = read.Latest + group.Heartbeat;
        }

        _changed.Clear();
        for (var i = 0; i < samples.Length; i++)
        {
            if (full || HasChanged(_recorded[i], samples[i], tags[i].DeadBand))
            {
                _recorded[i] = samples[i];
                _changed.Add(samples[i]);
            }
        }

        return new Frame
        {
            Washer = washer,
            Group = group.Number,
            Kind = full ? FrameKind.Full : FrameKind.Changes,
            Read = read,
            Samples = _changed.Count == 0 ? [] : [.. _changed],
        };
    }

    public Frame Fail(string reason, TimeBounds read)
    {
        ForceFull();
        return new Frame { Washer = washer, Group = group.Number, Kind = FrameKind.Failed, Read = read, Reason = reason };
    }

    /// <summary>The next frame lists everything.</summary>
    public void ForceFull() => _fullUntil = new Instant(long.MinValue);

    private static bool HasChanged(Sample old, Sample now, double deadBand)
    {
        if (old.Quality != now.Quality || !string.Equals(old.Value.Text, now.Value.Text, StringComparison.Ordinal))
        {
            return true;
        }

        // Equals, not ==: a NaN that stays NaN is no change.
        return now.Signal.Type == SignalType.Quantity && deadBand > 0 && !double.IsNaN(old.Value.Number) && !double.IsNaN(now.Value.Number)
            ? Math.Abs(now.Value.Number - old.Value.Number) > deadBand
            : !old.Value.Number.Equals(now.Value.Number);
    }
}
