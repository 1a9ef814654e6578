namespace WashBridge.Simulator.Faults;

/// <summary>What lies between washer and bridge, as of the washer's present.</summary>
public sealed class LinkState
{
    private TimeSpan _lostUntil = TimeSpan.MinValue;
    private TimeSpan _controllerOffUntil = TimeSpan.MinValue;
    private TimeSpan _slowUntil = TimeSpan.MinValue;
    private TimeSpan _delay;

    internal LinkState()
    {
    }

    /// <summary>Clock steps and restarts of the bridge, with their times, in order; whoever plays the bridge takes them out.</summary>
    internal Queue<(TimeSpan At, LinkFault Fault)> BridgeEvents { get; } = new();

    /// <summary>Somebody answers at <paramref name="now"/>. Only the washer's present can be asked.</summary>
    public bool IsUp(TimeSpan now) => now >= _lostUntil && now >= _controllerOffUntil;

    /// <summary>How much longer than usual a reply takes.</summary>
    public TimeSpan ReplyDelay(TimeSpan now) => now < _slowUntil ? _delay : TimeSpan.Zero;

    internal void Lose(TimeSpan until) => _lostUntil = Later(_lostUntil, until);

    internal void ControllerOff(TimeSpan until) => _controllerOffUntil = Later(_controllerOffUntil, until);

    internal void Slow(TimeSpan until, TimeSpan delay)
    {
        _slowUntil = until;
        _delay = delay;
    }

    private static TimeSpan Later(TimeSpan a, TimeSpan b) => a > b ? a : b;
}
