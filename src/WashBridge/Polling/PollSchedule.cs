namespace WashBridge.Polling;

/// <summary>
/// When a group is due: start + n x interval, so that a late poll never moves the ones after it. Slots that pass while a poll still
/// runs are counted as overruns and left out; they are never queued up.
/// </summary>
internal sealed class PollSchedule(TimeSpan interval, long startStamp, long stampsPerSecond)
{
    private readonly double _stampsPerSlot = interval.TotalSeconds * stampsPerSecond;
    private long _slot;

    /// <summary>The stamp at which the next poll is due.</summary>
    public long Due => startStamp + (long)(_slot * _stampsPerSlot);

    /// <summary>Slots left out since the start.</summary>
    public long Overruns { get; private set; }

    /// <summary>Goes to the next slot. Returns how many slots were left out because <paramref name="now"/> is past them.</summary>
    public long Advance(long now)
    {
        _slot++;
        var current = (long)((now - startStamp) / _stampsPerSlot);
        if (current <= _slot)
        {
            return 0;
        }

        var missed = current - _slot;
        _slot = current;
        Overruns += missed;
        return missed;
    }
}
