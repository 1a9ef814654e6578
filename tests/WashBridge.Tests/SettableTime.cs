namespace WashBridge.Tests;

/// <summary>A monotonic clock and a wall clock that can be set apart from it, as an administrator would.</summary>
internal sealed class SettableTime(DateTimeOffset start) : TimeProvider
{
    private TimeSpan _elapsed;
    private TimeSpan _shift;

    public override long TimestampFrequency => TimeSpan.TicksPerSecond;

    public override long GetTimestamp() => _elapsed.Ticks;

    public override DateTimeOffset GetUtcNow() => start + _elapsed + _shift;

    public void Advance(TimeSpan by) => _elapsed += by;

    public void SetWallClockBy(TimeSpan by) => _shift += by;
}
