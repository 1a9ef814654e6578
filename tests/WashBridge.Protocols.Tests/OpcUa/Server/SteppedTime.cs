namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>
/// Virtual time that may be read by any thread: timers fire on the thread that advances it, and nowhere else. (The library's fake time also fires
/// them on a thread that only reads the time. One that holds a lock would then run a callback under it, which no real timer does.)
/// </summary>
internal sealed class SteppedTime(DateTimeOffset start) : TimeProvider
{
    private readonly Lock gate = new();
    private readonly List<Timer> timers = [];
    private long now = start.UtcTicks;

    public override long TimestampFrequency => TimeSpan.TicksPerSecond;

    public override DateTimeOffset GetUtcNow() => new(GetTimestamp(), TimeSpan.Zero);

    public override long GetTimestamp() => Volatile.Read(ref now);

    public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period)
    {
        var timer = new Timer(this, () => callback(state));
        timer.Change(dueTime, period);
        return timer;
    }

    /// <summary>Stops at every instant at which a timer is due on the way. One thread at a time.</summary>
    public void Advance(TimeSpan by)
    {
        var end = GetTimestamp() + by.Ticks;
        while (NextDue(end) is { } timer)
        {
            timer.Fire();
        }

        Volatile.Write(ref now, end);
    }

    /// <summary>Takes the timer that is due first, sets the time to when it is, and sets the timer to its next period.</summary>
    private Timer? NextDue(long end)
    {
        lock (gate)
        {
            // A loop, because it allocates nothing: tests count what the server allocates.
            Timer? next = null;
            for (var i = 0; i < timers.Count; i++)
            {
                next = next is null || timers[i].Due < next.Due ? timers[i] : next;
            }

            if (next is null || next.Due > end)
            {
                return null;
            }

            Volatile.Write(ref now, Math.Max(now, next.Due));
            next.Rearm();
            return next;
        }
    }

    private sealed class Timer(SteppedTime time, Action callback) : ITimer
    {
        private TimeSpan period;

        public long Due { get; private set; }

        public void Fire() => callback();

        public bool Change(TimeSpan dueTime, TimeSpan nextPeriod)
        {
            lock (time.gate)
            {
                time.timers.Remove(this);
                if (dueTime != Timeout.InfiniteTimeSpan)
                {
                    (Due, period) = (time.now + dueTime.Ticks, nextPeriod);
                    time.timers.Add(this);
                }

                return true;
            }
        }

        public void Rearm()
        {
            Due += period.Ticks;
            if (period <= TimeSpan.Zero)
            {
                time.timers.Remove(this);
            }
        }

        public void Dispose()
        {
            lock (time.gate)
            {
                time.timers.Remove(this);
            }
        }

        public ValueTask DisposeAsync()
        {
            Dispose();
            return ValueTask.CompletedTask;
        }
    }
}
