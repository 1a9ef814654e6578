using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Pipeline;

/// <summary>
/// Tells that time passes where nothing else is told: a minute after a washer's last event, then after twice as long each time, at most after an hour. A fold over
/// frames, failed ones included, so that a replay tells the same.
/// </summary>
internal sealed class SilenceBreaker(SilenceState? state = null)
{
    private static readonly TimeSpan First = TimeSpan.FromMinutes(1);
    private static readonly TimeSpan Longest = TimeSpan.FromHours(1);

    public SilenceState? State { get; private set; } = state;

    /// <param name="hasEvents">Something else was told with this frame.</param>
    public TimePassed? Take(Frame frame, bool hasEvents)
    {
        var now = frame.Read.Latest;

        // A wall clock that was set back begins the silence anew.
        if (hasEvents || State is not { } silence || now < silence.Since)
        {
            State = new SilenceState(now, First);
            return null;
        }

        if (now - silence.Since < silence.Wait)
        {
            return null;
        }

        State = new SilenceState(now, silence.Wait * 2 < Longest ? silence.Wait * 2 : Longest);
        return new TimePassed { Id = $"{frame.Washer}/time/{frame.Group}/{now}", Washer = frame.Washer, At = frame.Read };
    }
}

/// <param name="Since">The time of the last event.</param>
/// <param name="Wait">The next one is told after so long.</param>
internal sealed record SilenceState(Instant Since, TimeSpan Wait);
