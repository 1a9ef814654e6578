using System.Net.Sockets;

namespace WashBridge.Protocols.Modbus;

/// <summary>
/// Answers. Whoever waits drives the receiving: the first waiter asks the socket directly if the device usually answers
/// at once, which spares two changes of thread a request; otherwise one asynchronous receive serves all who wait.
/// </summary>
public sealed partial class ModbusClient
{
    /// <summary>Answers to unknown transactions, without a good one between them, after which the peer is taken for mad.</summary>
    private const int MaxStrayReplies = 16;

    private readonly FrameBuffer incoming = new(minimumPdu: 2);
    private readonly Action onReceived;
    private readonly long soonTicks;
    private ValueTask<int> receive;

    /// <summary>One thread or one pending receive owns the incoming side.</summary>
    private bool isReceiving;

    private int awaitedCount;
    private int straysInARow;

    /// <summary>Smoothed, in ticks of the clock; unknown is taken for quick.</summary>
    private long usualRoundTrip;

    /// <summary>Receives on the caller's thread for at most some 20 ms, if answers usually take less than 1.</summary>
    /// <returns>Whether it is worth looking at the request again.</returns>
    internal bool TryReceiveNow(PendingRead request)
    {
        lock (gate)
        {
            if (isReceiving || socket is null || usualRoundTrip > soonTicks || !IsActive(request))
            {
                return false;
            }

            isReceiving = true;
        }

        try
        {
            ReceiveNow(request);
        }
        catch (Exception e) when (e is SocketException or ObjectDisposedException)
        {
            Break(Disconnected(e));
            return true;
        }

        if (!ReleaseUnlessAwaited())
        {
            Receive();
        }

        return true;
    }

    /// <summary>Notes that somebody waits for this request.</summary>
    /// <returns>Whether the caller must call <see cref="Receive"/>.</returns>
    internal bool Await(PendingRead request)
    {
        lock (gate)
        {
            if (!IsActive(request))
            {
                return false;
            }

            request.IsAwaited = true;
            awaitedCount++;
            return !isReceiving && (isReceiving = true);
        }
    }

    /// <summary>Receives until nobody waits any more. The caller owns the incoming side.</summary>
    internal void Receive()
    {
        do
        {
            try
            {
#pragma warning disable CA2012 // Consumed exactly once, here or in the continuation: only one receive is ever pending.
                receive = stream.ReadAsync(incoming.Free());
#pragma warning restore CA2012
            }
            catch (Exception e) when (e is IOException or ObjectDisposedException)
            {
                Break(Disconnected(e));
                return;
            }

            if (!receive.IsCompleted)
            {
                receive.ConfigureAwait(false).GetAwaiter().UnsafeOnCompleted(onReceived);
                return;
            }
        }
        while (TakeReceived());
    }

    private void ContinueReceiving()
    {
        if (TakeReceived())
        {
            Receive();
        }
    }

    private bool TakeReceived()
    {
        try
        {
            Take(receive.GetAwaiter().GetResult());
            return !ReleaseUnlessAwaited();
        }
        catch (Exception e) when (e is IOException or ObjectDisposedException)
        {
            Break(Disconnected(e));
            return false;
        }
    }

    private void ReceiveNow(PendingRead request)
    {
        const int TwentyMilliseconds = 20_000;
        var began = time.GetTimestamp();
        do
        {
            if (!socket!.Poll(TwentyMilliseconds, SelectMode.SelectRead))
            {
                // A device that has become slow is soon left to the asynchronous receive.
                usualRoundTrip += soonTicks / 8;
                return;
            }

            var count = socket.Receive(incoming.Free().Span, SocketFlags.None, out var error);
            if (error != SocketError.Success)
            {
                throw new SocketException((int)error);
            }

            Take(count);
        }
        while (IsStillActive(request) && time.GetTimestamp() - began < 20 * soonTicks);
    }

    /// <summary>Gives the incoming side up, unless others wait for answers already: the asynchronous receive then goes on for them.</summary>
    private bool ReleaseUnlessAwaited()
    {
        lock (gate)
        {
            isReceiving = awaitedCount > 0;
            return !isReceiving;
        }
    }

    /// <summary>Takes in what has been received.</summary>
    private void Take(int count)
    {
        var now = time.GetTimestamp();
        lock (gate)
        {
            if (broken is not null)
            {
                return;
            }

            if (count == 0)
            {
                BreakLocked(Disconnected(null));
                return;
            }

            incoming.Received(count);
            FrameState state;
            while ((state = incoming.TryTake(out var header, out var pdu, out var lost)) != FrameState.Incomplete)
            {
                var reason = state == FrameState.Lost ? lost : Dispatch(header, pdu, now);
                if (reason is not null)
                {
                    BreakLocked(new ModbusProtocolException(reason));
                    return;
                }
            }
        }
    }

    /// <summary>Gives an answer to its request (implementation guide V1.0b, 4.4.1.4).</summary>
    /// <returns>Null, or what is so wrong with it that the connection must be closed.</returns>
    private string? Dispatch(Mbap header, ReadOnlySpan<byte> pdu, long now)
    {
        if (FindActive(header.Transaction) is not (>= 0 and var index))
        {
            return DropUnasked(header.Transaction);
        }

        straysInARow = 0;
        var request = active[index];
        if (header.Unit != request.Unit)
        {
            return $"answer to transaction {header.Transaction} is from unit {header.Unit} instead of {request.Unit}";
        }

        var isException = (pdu[0] & ReadPdu.ExceptionFlag) != 0;
        if ((pdu[0] & ~ReadPdu.ExceptionFlag) != request.Function)
        {
            return $"answer to transaction {header.Transaction} is of function {pdu[0]:X2} instead of {request.Function:X2}";
        }

        if (isException)
        {
            if (pdu.Length == 3 && pdu[0] == (DeviceIdentificationPdu.Function | ReadPdu.ExceptionFlag) && pdu[1] == DeviceIdentificationPdu.MeiType)
            {
                // Some devices put the MEI type before the code.
                pdu = pdu[1..];
            }

            if (pdu.Length != 2)
            {
                return $"exception of {pdu.Length} bytes instead of 2";
            }

            RemoveActive(index).Fail(new ModbusDeviceException((ModbusExceptionCode)pdu[1], request.Unit, request.Function, request.Address, request.Quantity));
            return null;
        }

        if (Copy(request, pdu) is { } reason)
        {
            return $"answer to transaction {header.Transaction}: {reason}";
        }

        // One answer that took long, because this machine was busy, says little about the device.
        usualRoundTrip += Math.Min(now - request.Sent - usualRoundTrip, soonTicks) / 8;
        RemoveActive(index).Succeed(new ModbusTiming(request.Sent, now));
        return null;
    }

    private static string? Copy(PendingRead request, ReadOnlySpan<byte> pdu)
    {
        if (request.Function == DeviceIdentificationPdu.Function)
        {
            pdu.CopyTo(request.Pdu.Span);
            request.PduLength = pdu.Length;
            return null;
        }

        var table = (ModbusTable)request.Function;
        if (ReadPdu.CheckData(pdu, ReadPdu.DataBytes(table, request.Quantity)) is { } reason)
        {
            return reason;
        }

        if (ReadPdu.IsOfBits(table))
        {
            ReadPdu.ReadBits(pdu, request.Bits.Span);
        }
        else
        {
            ReadPdu.ReadRegisters(pdu, request.Registers.Span);
        }

        return null;
    }

    private string? DropUnasked(ushort transaction)
    {
        if (FindOwed(transaction) is >= 0 and var index)
        {
            RemoveOwed(index);
            LateReplies++;
            Log.LateReply(logger, options.Host, options.Port, transaction);
            return null;
        }

        StrayReplies++;
        Log.StrayReply(logger, options.Host, options.Port, transaction);
        return ++straysInARow < MaxStrayReplies ? null : $"{MaxStrayReplies} answers in a row to transactions that nobody asked for";
    }

    private static ModbusConnectionException Disconnected(Exception? cause) =>
        new(cause is null ? "the peer closed the connection" : $"the connection was lost: {cause.Message}", cause);
}
