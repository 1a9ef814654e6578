namespace WashBridge.Protocols.Modbus;

/// <summary>Requests: their transaction ids, their place among those in flight, and the way out.</summary>
public sealed partial class ModbusClient
{
    private readonly PendingRead[] active;
    private readonly Stack<PendingRead> idle = new();
    private readonly Action onSent;
    private int activeCount;
    private ushort lastTransaction;

    // Two buffers take turns: one is being written while requests gather in the other, which then leave as one segment.
    private byte[] gathering = new byte[MaxInFlight * (Mbap.Size + ReadPdu.RequestSize)];
    private byte[] writing = new byte[MaxInFlight * (Mbap.Size + ReadPdu.RequestSize)];
    private int gathered;
    private int gatheredForWriting;
    private bool isSending;
    private ValueTask send;

    /// <summary>Puts a request into the outgoing buffer and its time-out on the clock, without writing anything yet.</summary>
    internal ValueTask<ModbusTiming> Enqueue(PendingRead request, CancellationToken cancellation)
    {
        if (cancellation.IsCancellationRequested)
        {
            Return(request);
            return ValueTask.FromCanceled<ModbusTiming>(cancellation);
        }

        lock (gate)
        {
            if (broken is not null)
            {
                idle.Push(request);
                return ValueTask.FromException<ModbusTiming>(Lost());
            }

            if (activeCount == active.Length)
            {
                idle.Push(request);
                throw new InvalidOperationException($"more than {active.Length} requests at once: await one first, or raise {nameof(ModbusClientOptions.InFlight)}");
            }

            request.Transaction = NextTransaction();
            request.PduLength = 0;
            request.IsAwaited = false;
            request.Sent = time.GetTimestamp();
            active[activeCount++] = request;
            ArmTimer(request.Sent);
            if (gathered + Mbap.Size + ReadPdu.RequestSize <= gathering.Length)
            {
                gathered += WriteRequest(gathering.AsSpan(gathered), request);
            }
            else
            {
                // Sixteen requests have timed out while the peer took not one byte.
                BreakLocked(new ModbusConnectionException("the peer accepts no more requests"));
            }
        }

        var task = new ValueTask<ModbusTiming>(request, request.Version);
        request.AbandonWhen(cancellation);
        return task;
    }

    /// <summary>Writes all that has gathered, in one piece. While another caller writes, that one takes it along.</summary>
    internal void Flush()
    {
        lock (gate)
        {
            if (isSending || !SwapBuffers())
            {
                return;
            }

            isSending = true;
        }

        SendAll();
    }

    internal PendingRead Rent()
    {
        lock (gate)
        {
            return idle.TryPop(out var request) ? request : new PendingRead(this);
        }
    }

    internal void Return(PendingRead request)
    {
        lock (gate)
        {
            // More than twice as many as can be in flight come only from callers who forgot to await.
            if (idle.Count < 2 * MaxInFlight)
            {
                idle.Push(request);
            }
        }
    }

    private ValueTask<ModbusTiming> Begin(PendingRead request, CancellationToken cancellation)
    {
        var task = Enqueue(request, cancellation);
        Flush();
        return task;
    }

    private void SendAll()
    {
        while (true)
        {
            try
            {
#pragma warning disable CA2012 // Consumed exactly once, here or in the continuation: only one send is ever pending.
                send = stream.WriteAsync(writing.AsMemory(0, gatheredForWriting));
#pragma warning restore CA2012
                if (!send.IsCompleted)
                {
                    send.ConfigureAwait(false).GetAwaiter().UnsafeOnCompleted(onSent);
                    return;
                }

                send.GetAwaiter().GetResult();
            }
            catch (Exception e) when (e is IOException or ObjectDisposedException)
            {
                Break(new ModbusConnectionException($"sending failed: {e.Message}", e));
                return;
            }

            if (!HasMoreToSend())
            {
                return;
            }
        }
    }

    private void ContinueSending()
    {
        try
        {
            send.GetAwaiter().GetResult();
        }
        catch (Exception e) when (e is IOException or ObjectDisposedException)
        {
            Break(new ModbusConnectionException($"sending failed: {e.Message}", e));
            return;
        }

        if (HasMoreToSend())
        {
            SendAll();
        }
    }

    private bool HasMoreToSend()
    {
        lock (gate)
        {
            return isSending = broken is null && SwapBuffers();
        }
    }

    private bool SwapBuffers()
    {
        gatheredForWriting = gathered;
        if (gathered == 0)
        {
            return false;
        }

        (gathering, writing) = (writing, gathering);
        gathered = 0;
        return true;
    }

    private static int WriteRequest(Span<byte> destination, PendingRead request)
    {
        var pdu = destination[Mbap.Size..];
        var length = ReadPdu.RequestSize;
        if (request.Function == DeviceIdentificationPdu.Function)
        {
            length = DeviceIdentificationPdu.WriteRequest(pdu, (DeviceIdentificationLevel)request.Quantity, (byte)request.Address);
        }
        else
        {
            ReadPdu.WriteRequest(pdu, (ModbusTable)request.Function, request.Address, request.Quantity);
        }

        Mbap.Write(destination, request.Transaction, request.Unit, length);
        return Mbap.Size + length;
    }

    /// <summary>An id that no request in flight has, and none whose answer may still come.</summary>
    private ushort NextTransaction()
    {
        do
        {
            lastTransaction++;
        }
        while (FindActive(lastTransaction) >= 0 || FindOwed(lastTransaction) >= 0);
        return lastTransaction;
    }

    private int FindActive(ushort transaction)
    {
        for (var i = 0; i < activeCount; i++)
        {
            if (active[i].Transaction == transaction)
            {
                return i;
            }
        }

        return -1;
    }

    private bool IsActive(PendingRead request) => FindActive(request.Transaction) is >= 0 and var index && active[index] == request;

    private bool IsStillActive(PendingRead request)
    {
        lock (gate)
        {
            return IsActive(request);
        }
    }

    private PendingRead RemoveActive(int index)
    {
        var request = active[index];
        active[index] = active[--activeCount];
        active[activeCount] = null!;
        if (request.IsAwaited)
        {
            awaitedCount--;
        }

        return request;
    }
}
