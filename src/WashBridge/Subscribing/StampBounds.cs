using WashBridge.Core.Time;
using WashBridge.Polling;

namespace WashBridge.Subscribing;

/// <summary>The earliest and the latest reading of the monotonic clock at which something can have happened.</summary>
internal readonly record struct StampBounds(long Earliest, long Latest)
{
    public static StampBounds At(long stamp) => new(stamp, stamp);

    public TimeBounds On(ClockAnchor anchor) => new(anchor.Floor(Earliest), anchor.Ceiling(Latest));
}
