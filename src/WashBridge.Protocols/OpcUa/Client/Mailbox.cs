namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>
/// Work that is done piece by piece, in the order in which it came, by one thread at a time. Where nothing is going on and the sender allows it, the work is
/// done at once on the sender's thread: waking another one costs more than most messages do.
/// </summary>
/// <param name="handle">Must not throw.</param>
/// <param name="onEmpty">Called after the last piece, before resting. Must not throw.</param>
internal sealed class Mailbox<T>(Func<T, ValueTask> handle, Func<ValueTask> onEmpty, TaskScheduler scheduler)
{
    private readonly Lock gate = new();
    private readonly Queue<T> queue = new();
    private readonly TaskCompletionSource ended = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private bool isBusy;
    private bool isClosed;

    /// <summary>Adds work that may be done on this thread.</summary>
    /// <returns>False: nothing is taken any more.</returns>
    public bool Do(T work)
    {
        if (!Enqueue(work, out var isFirst))
        {
            return false;
        }

        if (isFirst)
        {
            _ = DrainAsync();
        }

        return true;
    }

    /// <summary>Adds work that is done on another thread.</summary>
    /// <returns>False: nothing is taken any more.</returns>
    public bool Post(T work)
    {
        if (!Enqueue(work, out var isFirst))
        {
            return false;
        }

        if (isFirst)
        {
            StartDraining();
        }

        return true;
    }

    /// <summary>Takes nothing any more, and does what is there.</summary>
    public Task CloseAsync()
    {
        bool isFirst;
        lock (gate)
        {
            isClosed = true;
            isFirst = !isBusy;
            isBusy = true;
        }

        if (isFirst)
        {
            StartDraining();
        }

        return ended.Task;
    }

    private bool Enqueue(T work, out bool isFirst)
    {
        lock (gate)
        {
            isFirst = !isBusy && !isClosed;
            if (isClosed)
            {
                return false;
            }

            isBusy = true;
            queue.Enqueue(work);
            return true;
        }
    }

    private void StartDraining() => Task.Factory.StartNew(DrainAsync, CancellationToken.None, TaskCreationOptions.DenyChildAttach, scheduler);

    private async Task DrainAsync()
    {
        while (true)
        {
            while (TryTake(out var work))
            {
                await handle(work);
            }

            await onEmpty();
            if (Rests())
            {
                return;
            }
        }
    }

    private bool TryTake(out T work)
    {
        lock (gate)
        {
            return queue.TryDequeue(out work!);
        }
    }

    private bool Rests()
    {
        lock (gate)
        {
            if (queue.Count > 0)
            {
                return false;
            }

            isBusy = false;
            if (isClosed)
            {
                ended.TrySetResult();
            }

            return true;
        }
    }
}
