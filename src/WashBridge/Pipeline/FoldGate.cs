namespace WashBridge.Pipeline;

/// <summary>
/// Which part of the log may be folded, where two bridges keep one log: what both have, so that both come to the same. Frames of the last moment before an end that
/// nobody expected, which the other did not get any more, are left out: the other read that moment too, and its reads count.
/// </summary>
internal sealed class FoldGate
{
    private readonly Lock _lock = new();
    private TaskCompletionSource _moved = New();
    private LogRange[] _leftOut = [];
    private long _frames = long.MaxValue;
    private long _events = long.MaxValue;

    /// <summary>The last sequence number up to which frames may become events.</summary>
    public long Frames => Volatile.Read(ref _frames);

    /// <summary>The last sequence number up to which events may become findings.</summary>
    public long Events => Volatile.Read(ref _events);

    /// <summary>Ends when the gate is moved next.</summary>
    public Task Moved
    {
        get
        {
            lock (_lock)
            {
                return _moved.Task;
            }
        }
    }

    public void Open() => Set(long.MaxValue, long.MaxValue);

    public void Set(long frames, long events)
    {
        TaskCompletionSource moved;
        lock (_lock)
        {
            if (frames == _frames && events == _events)
            {
                return;
            }

            Volatile.Write(ref _frames, frames);
            Volatile.Write(ref _events, events);
            (moved, _moved) = (_moved, New());
        }

        moved.SetResult();
    }

    public void LeaveOut(IEnumerable<LogRange> ranges) => Volatile.Write(ref _leftOut, [.. ranges]);

    public bool IsLeftOut(long sequence) => Array.Exists(Volatile.Read(ref _leftOut), r => sequence > r.After && sequence <= r.Through);

    /// <summary>Until the log has grown beyond <paramref name="seen"/>, or the gate was moved since <paramref name="moved"/> was asked for.</summary>
    /// <exception cref="OperationCanceledException">The token was cancelled first.</exception>
    public static async Task WaitAsync(HistorianSignal signal, long seen, Task? moved, CancellationToken cancellation)
    {
        var grown = signal.WaitAsync(seen, cancellation).AsTask();
        await await Task.WhenAny(moved is null ? [grown] : [grown, moved]);
    }

    private static TaskCompletionSource New() => new(TaskCreationOptions.RunContinuationsAsynchronously);
}

/// <summary>A stretch of the log.</summary>
/// <param name="Through">Its last entry.</param>
internal sealed record LogRange(long After, long Through);
