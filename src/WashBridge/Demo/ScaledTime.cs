namespace WashBridge.Demo;

/// <summary>Time that runs <paramref name="speed"/> times as fast as real time, from <paramref name="start"/> on: clock, stamps and timers alike.</summary>
internal sealed class ScaledTime(double speed, DateTimeOffset start) : TimeProvider
{
    private readonly long _realStart = System.GetTimestamp();

    public override TimeZoneInfo LocalTimeZone => TimeZoneInfo.Utc;

    public override long TimestampFrequency => TimeSpan.TicksPerSecond;

    public override long GetTimestamp() => (long)(System.GetElapsedTime(_realStart).Ticks * speed);

    public override DateTimeOffset GetUtcNow() => start.AddTicks(GetTimestamp());

    public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period) =>
        new ScaledTimer(System.CreateTimer(callback, state, Real(dueTime), Real(period)), this);

    private TimeSpan Real(TimeSpan scaled) => scaled == Timeout.InfiniteTimeSpan ? scaled : scaled / speed;

    private sealed class ScaledTimer(ITimer real, ScaledTime time) : ITimer
    {
        public bool Change(TimeSpan dueTime, TimeSpan period) => real.Change(time.Real(dueTime), time.Real(period));

        public void Dispose() => real.Dispose();

        public ValueTask DisposeAsync() => real.DisposeAsync();
    }
}
