using WashBridge.Core.Time;

namespace WashBridge.Simulator.Polling;

/// <summary>What the bridge's wall clock reads at each virtual time, with all its steps: brings the truth onto the time line of the frames.</summary>
public sealed class BridgeClock
{
    private readonly Instant _start;
    private readonly List<Segment> _segments = [new(TimeSpan.MinValue, TimeSpan.Zero, TimeSpan.Zero, 0)];

    internal BridgeClock(Instant start) => _start = start;

    /// <summary>Where virtual time <paramref name="time"/> lies, as a fold of the frames' clock shifts would place it.</summary>
    public Moment Place(TimeSpan time)
    {
        var i = _segments.Count - 1;
        while (_segments[i].From > time)
        {
            i--;
        }

        var wall = _start + time + _segments[i].Shift;
        return new Moment(wall, wall - _segments[i].ShiftInEpoch, _segments[i].Epoch);
    }

    /// <summary>The last microsecond of the wall clock not after the one, and the first not before the other.</summary>
    internal TimeBounds Around(TimeSpan earliest, TimeSpan latest)
    {
        // One reading a request: what follows in it is counted from there by the steady clock.
        var shift = _segments[^1].Shift;
        return new TimeBounds(_start + Floor(earliest) + shift, _start + Ceiling(latest) + shift);
    }

    /// <param name="at">From when on.</param>
    /// <param name="shift">Forwards or, negative, backwards.</param>
    /// <param name="known">Whether the bridge can tell by how much.</param>
    internal void Step(TimeSpan at, TimeSpan shift, bool known)
    {
        var last = _segments[^1];
        _segments.Add(known
            ? new Segment(at, last.Shift + shift, last.ShiftInEpoch + shift, last.Epoch)
            : new Segment(at, last.Shift + shift, TimeSpan.Zero, last.Epoch + 1));
    }

    private static TimeSpan Floor(TimeSpan time) => new(time.Ticks - (time.Ticks % TimeSpan.TicksPerMicrosecond));

    private static TimeSpan Ceiling(TimeSpan time) => Floor(time + TimeSpan.FromTicks(TimeSpan.TicksPerMicrosecond - 1));

    /// <param name="From">Virtual time.</param>
    /// <param name="Shift">Wall clock less virtual time, less what it was at the start.</param>
    /// <param name="ShiftInEpoch">The known shifts since the last unknown one.</param>
    /// <param name="Epoch">Number of unknown shifts so far.</param>
    private readonly record struct Segment(TimeSpan From, TimeSpan Shift, TimeSpan ShiftInEpoch, int Epoch);
}
