namespace WashBridge.Protocols.OpcUa.Channels;

/// <content>Time-outs, cancellation, and the one way a channel ends.</content>
public sealed partial class ClientChannel
{
    /// <summary>Answers that may still come are remembered up to this number, the oldest forgotten first.</summary>
    private const int MaxOwed = 256;

    private readonly Dictionary<uint, PendingRequest> pending = [];
    private readonly HashSet<uint> owed = [];
    private readonly Queue<uint> owedInOrder = new();
    private readonly ITimer expiry;
    private readonly TaskCompletionSource<UaException> closed = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private long expiryDue = long.MaxValue;
    private UaException? broken;

    /// <summary>The caller wants the answer no longer. It may still come.</summary>
    internal void Abandon(PendingRequest request, Exception reason)
    {
        lock (gate)
        {
            if (!pending.Remove(request.Id))
            {
                return;
            }

            NoteEnd(request);
            Owe(request.Id);
        }

        Fail(request, reason);
    }

    private static void Fail(PendingRequest request, Exception reason)
    {
        request.TakeFailure(reason);
        request.Complete();
    }

    /// <returns>Why the request cannot be made; null if it is on its way.</returns>
    private UaException? Register(PendingRequest request)
    {
        lock (gate)
        {
            if (broken is not null)
            {
                return Lost();
            }

            if (pending.Count >= MaxInFlight)
            {
                return new UaException(StatusCodes.BadTooManyOperations, $"{MaxInFlight} requests are on their way already");
            }

            request.Deadline = request.Timeout == Timeout.InfiniteTimeSpan
                ? long.MaxValue
                : time.GetTimestamp() + (long)(request.Timeout.TotalSeconds * time.TimestampFrequency);
            pending.Add(request.Id, request);
            ArmExpiry(request.Deadline);
            return null;
        }
    }

    private bool IsPending(PendingRequest request)
    {
        lock (gate)
        {
            return pending.ContainsKey(request.Id);
        }
    }

    /// <summary>One timer serves all: it runs to the earliest deadline it knows of, and looks again when it fires.</summary>
    private void ArmExpiry(long deadline)
    {
        if (deadline >= expiryDue)
        {
            return;
        }

        expiryDue = deadline;
        var left = TimeSpan.FromSeconds(Math.Max(0, deadline - time.GetTimestamp()) / (double)time.TimestampFrequency);

        // Timers cut to milliseconds: rounded down, the last fraction would be waited out in a loop.
        expiry.Change(TimeSpan.FromMilliseconds(Math.Ceiling(left.TotalMilliseconds)), Timeout.InfiniteTimeSpan);
    }

    private void Expire()
    {
        List<PendingRequest> late = [];
        lock (gate)
        {
            if (broken is not null)
            {
                return;
            }

            var now = time.GetTimestamp();
            var next = long.MaxValue;
            foreach (var request in pending.Values)
            {
                if (request.Deadline <= now)
                {
                    late.Add(request);
                }
                else
                {
                    next = Math.Min(next, request.Deadline);
                }
            }

            foreach (var request in late)
            {
                pending.Remove(request.Id);
                NoteEnd(request);
                Owe(request.Id);
            }

            expiryDue = long.MaxValue;
            ArmExpiry(next);
        }

        foreach (var request in late)
        {
            Fail(request, new UaException(StatusCodes.BadTimeout, $"no answer to {request.Service} within {request.Timeout.TotalMilliseconds:0} ms"));
        }
    }

    private void Owe(uint request)
    {
        if (owedInOrder.Count >= MaxOwed)
        {
            owed.Remove(owedInOrder.Dequeue());
        }

        owed.Add(request);
        owedInOrder.Enqueue(request);
    }

    /// <summary>The connection is of no more use: close it, and fail whatever was on its way. The first cause is kept.</summary>
    private void Break(UaException reason, bool isExpected = false)
    {
        PendingRequest[] unanswered;
        lock (gate)
        {
            if (broken is not null)
            {
                return;
            }

            broken = reason;
            unanswered = [.. pending.Values];
            pending.Clear();
            awaitedCount = 0;
            owed.Clear();
            owedInOrder.Clear();
        }

        expiry.Dispose();
        renewal.Dispose();
        if (socket is null)
        {
            stream.Dispose();
        }
        else
        {
            // The thread that receives finds the end, and closes the socket: closing it here would reset the connection under what was sent last.
            socket.Shutdown();
            mustReceive.Set();
        }

        if (isExpected && ChannelId != 0)
        {
            Log.Closed(logger, options.Endpoint, ChannelId);
        }
        else if (!isExpected)
        {
            Log.Broken(logger, options.Endpoint, ChannelId, reason.Message);
        }

        closed.TrySetResult(reason);
        foreach (var request in unanswered)
        {
            Fail(request, Lost());
        }
    }

    /// <summary>Opening failed: nobody has seen the channel yet, and nobody receives any more.</summary>
    private void Abort(UaException reason)
    {
        Break(reason, isExpected: true);
        incoming.Dispose();
        messages.Dispose();
        openChunk.Dispose();
    }

    /// <summary>The first cause, in an exception of its own for each caller.</summary>
    private UaException Lost() => new(broken!.Status, $"no connection: {broken.Message}", broken);
}
