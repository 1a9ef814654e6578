using WashBridge.Telemetry;

namespace WashBridge.Pipeline;

/// <summary>
/// Tells whoever follows the log that it has grown, so that nobody polls the file. It carries no data: a follower that slept
/// through ten publications reads on from its own cursor.
/// </summary>
internal sealed class HistorianSignal
{
    private readonly Lock _lock = new();
    private TaskCompletionSource _grown = New();
    private long _last;

    /// <summary>The highest sequence number published so far; 0 before the first.</summary>
    public long Last => Volatile.Read(ref _last);

    /// <summary>Where the last entries came from, for traces.</summary>
    public CommitTrail Trail { get; } = new();

    /// <summary>Wakes every waiter whose sequence number is below <paramref name="sequence"/>. Older numbers change nothing.</summary>
    public void Publish(long sequence)
    {
        TaskCompletionSource grown;
        lock (_lock)
        {
            if (sequence <= _last)
            {
                return;
            }

            Volatile.Write(ref _last, sequence);
            grown = _grown;
            _grown = New();
        }

        grown.SetResult();
    }

    /// <summary>Returns the last published number as soon as it is above <paramref name="after"/>.</summary>
    /// <exception cref="OperationCanceledException">The token was cancelled first.</exception>
    public async ValueTask<long> WaitAsync(long after, CancellationToken cancellation)
    {
        while (true)
        {
            cancellation.ThrowIfCancellationRequested();
            Task grown;
            lock (_lock)
            {
                if (_last > after)
                {
                    return _last;
                }

                grown = _grown.Task;
            }

            await grown.WaitAsync(cancellation);
        }
    }

    /// <summary>Waiters go on elsewhere: the publisher is the writer's thread and has frames to commit.</summary>
    private static TaskCompletionSource New() => new(TaskCreationOptions.RunContinuationsAsynchronously);
}
