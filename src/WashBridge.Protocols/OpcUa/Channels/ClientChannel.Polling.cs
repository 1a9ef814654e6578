namespace WashBridge.Protocols.OpcUa.Channels;

/// <content>
/// Receiving from a socket. One thread does it as long as somebody waits, or nobody does. In between, while single requests are usually answered at
/// once, it steps aside: each caller then asks the socket itself, which spares two changes of thread a request.
/// </content>
public sealed partial class ClientChannel
{
    /// <summary>A caller blocks its thread no longer than this.</summary>
    private static readonly TimeSpan LongestPoll = TimeSpan.FromMilliseconds(20);

    /// <summary>When no caller has received for so long, the thread does again, so that the end of the connection is noticed.</summary>
    private static readonly TimeSpan StepAside = TimeSpan.FromMilliseconds(100);

    private readonly SocketStream? socket;
    private readonly AutoResetEvent mustReceive = new(false);
    private readonly long soonTicks;

    private Receiver receiver = Receiver.Thread;

    /// <summary>Requests whose callers have registered to be called back.</summary>
    private int awaitedCount;

    private long lastPoll;

    /// <summary>Smoothed, in ticks of the clock; unknown is taken for quick.</summary>
    private long usualRoundTrip;

    /// <summary>Receives on the caller's thread, if answers usually take less than a millisecond and nobody else receives.</summary>
    /// <returns>Whether it is worth looking at the request again.</returns>
    internal bool TryReceiveNow(PendingRequest request)
    {
        if (socket is null || !request.IsAnsweredSoon)
        {
            return false;
        }

        lock (gate)
        {
            if (receiver != Receiver.Nobody || broken is not null || usualRoundTrip > soonTicks || !pending.ContainsKey(request.Id))
            {
                return false;
            }

            receiver = Receiver.Caller;
        }

        ReceiveFor(request);
        return true;
    }

    /// <summary>Notes that somebody waits for this request, and that the thread must receive if no caller does.</summary>
    internal void Await(PendingRequest request)
    {
        if (socket is null)
        {
            return;
        }

        lock (gate)
        {
            if (!pending.ContainsKey(request.Id))
            {
                return;
            }

            request.IsAwaited = true;
            awaitedCount++;
            if (receiver != Receiver.Nobody)
            {
                return;
            }

            receiver = Receiver.Thread;
        }

        mustReceive.Set();
    }

    private void ReceiveFor(PendingRequest request)
    {
        var began = time.GetTimestamp();
        var goesOn = true;
        while (goesOn && IsPending(request) && time.GetElapsedTime(began) < LongestPoll)
        {
            goesOn = TryReceive((int)LongestPoll.TotalMicroseconds, out var hasReceived);
            if (!hasReceived)
            {
                // A server that has become slow is soon left to the thread.
                usualRoundTrip += soonTicks;
                break;
            }
        }

        lock (gate)
        {
            lastPoll = time.GetTimestamp();
            if (goesOn && awaitedCount == 0 && broken is null)
            {
                receiver = Receiver.Nobody;
                return;
            }

            receiver = Receiver.Thread;
        }

        mustReceive.Set();
    }

    /// <summary>The life of the thread, from the first chunk to the end of the connection.</summary>
    private void ReceiveOnThread()
    {
        var goesOn = true;
        while (goesOn)
        {
            do
            {
                goesOn = TryReceive(wait: -1, out _);
            }
            while (goesOn && !CanStepAside());
            if (goesOn)
            {
                goesOn = WaitAside();
            }
        }

        Break(new UaException(StatusCodes.BadConnectionClosed, "the connection was closed on this side"), isExpected: true);
        stream.Dispose();
        incoming.Dispose();
        messages.Dispose();
    }

    private bool CanStepAside()
    {
        lock (gate)
        {
            if (awaitedCount > 0 || usualRoundTrip > soonTicks || broken is not null)
            {
                return false;
            }

            lastPoll = time.GetTimestamp();
            receiver = Receiver.Nobody;
            return true;
        }
    }

    /// <summary>Waits until a caller hands over, or nobody has received for a while. While a caller receives, the buffers are the caller's.</summary>
    /// <returns>Whether there still is something to receive.</returns>
    private bool WaitAside()
    {
        while (true)
        {
            var isCalled = mustReceive.WaitOne(StepAside);
            lock (gate)
            {
                if (receiver == Receiver.Nobody && (broken is not null || (!isCalled && time.GetElapsedTime(lastPoll) >= StepAside)))
                {
                    receiver = Receiver.Thread;
                }

                if (receiver == Receiver.Thread)
                {
                    return broken is null;
                }
            }
        }
    }

    /// <summary>By whoever owns the incoming side.</summary>
    /// <returns>Whether the connection is of use still.</returns>
    private bool TryReceive(int wait, out bool hasReceived)
    {
        hasReceived = false;
        try
        {
            messages.ReleaseLongMessage();
            var count = socket!.Receive(incoming.Free().Span, wait);
            hasReceived = count >= 0;
            return count < 0 || TakeReceived(count);
        }
        catch (Exception e) when (e is IOException or ObjectDisposedException)
        {
            Break(Disconnected(e));
            return false;
        }
    }

    /// <summary>Within the lock, for a request that has just been taken out of the list.</summary>
    private void NoteEnd(PendingRequest request)
    {
        if (request.IsAwaited)
        {
            awaitedCount--;
        }
    }

    /// <summary>Who owns the incoming side.</summary>
    private enum Receiver
    {
        Nobody,
        Thread,
        Caller,
    }
}
