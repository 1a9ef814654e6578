using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Benchmarks.Influx;

/// <summary>A historian that tells when a follower's cursor has moved, and can fail just before: the server has said yes, and nobody remembers.</summary>
internal sealed class WatchedHistorian(IHistorian inner) : IHistorian
{
    private readonly Lock _lock = new();
    private TaskCompletionSource _moved = new(TaskCreationOptions.RunContinuationsAsynchronously);

    /// <summary>Called before a follower is moved; may throw.</summary>
    public Action<FollowerState> BeforeMove { get; set; } = _ => { };

    public long LastSequence => inner.LastSequence;

    public IReadOnlyList<Signal> Signals => inner.Signals;

    public async Task MovedToAsync(string follower, long sequence, CancellationToken cancellation)
    {
        while (true)
        {
            Task moved;
            lock (_lock)
            {
                moved = _moved.Task;
            }

            if (inner.ReadFollower(follower)?.Sequence >= sequence)
            {
                return;
            }

            await moved.WaitAsync(cancellation);
        }
    }

    public long AppendEvents(IReadOnlyList<WashEvent> events, FollowerState? follower = null)
    {
        if (follower is not null)
        {
            BeforeMove(follower);
        }

        var last = inner.AppendEvents(events, follower);
        if (follower is not null)
        {
            TaskCompletionSource moved;
            lock (_lock)
            {
                moved = _moved;
                _moved = new(TaskCreationOptions.RunContinuationsAsynchronously);
            }

            moved.SetResult();
        }

        return last;
    }

    public long AppendFrames(IReadOnlyList<Frame> frames, FollowerState? follower = null) => inner.AppendFrames(frames, follower);

    public IReadOnlyList<LogEntry> ReadLog(long after, int atMost, LogContent content = LogContent.All, string? washer = null) => inner.ReadLog(after, atMost, content, washer);

    public IReadOnlyList<Frame> ReadFrames(string washer, Instant from, Instant until) => inner.ReadFrames(washer, from, until);

    public IReadOnlyList<Sample> ReadSamples(Signal signal, Instant from, Instant until) => inner.ReadSamples(signal, from, until);

    public IReadOnlyList<HourlySummary> ReadHourly(Signal signal, Instant from, Instant until) => inner.ReadHourly(signal, from, until);

    public IReadOnlyList<WashEvent> ReadEvents(EventQuery query) => inner.ReadEvents(query);

    public FollowerState? ReadFollower(string follower) => inner.ReadFollower(follower);

    public bool RemoveFollower(string follower) => inner.RemoveFollower(follower);

    public void Seal(Instant before, CancellationToken cancellation = default) => inner.Seal(before, cancellation);

    public void Expire(Instant before, CancellationToken cancellation = default) => inner.Expire(before, cancellation);

    public void Dispose() => inner.Dispose();
}
