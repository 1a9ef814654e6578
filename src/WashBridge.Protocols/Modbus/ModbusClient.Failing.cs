namespace WashBridge.Protocols.Modbus;

/// <summary>Time-outs, cancellation, and the one way a connection ends.</summary>
public sealed partial class ModbusClient
{
    /// <summary>Answers that may still be owed; more, and the peer does not answer at all.</summary>
    private const int MaxOwed = 16;

    private readonly (ushort Transaction, long Since)[] owed = new (ushort, long)[MaxOwed];
    private readonly long timeoutTicks;
    private readonly long lateTicks;
    private readonly ITimer timer;
    private int owedCount;
    private bool isTimerArmed;
    private bool isDisposed;

    /// <summary>The caller wants the answer no longer. It may still come.</summary>
    internal void Abandon(PendingRead request, Exception reason)
    {
        lock (gate)
        {
            if (IsActive(request))
            {
                AbandonAt(FindActive(request.Transaction), reason);
            }
        }
    }

    /// <summary>The state of the stream is unknown, or nobody needs it: close, and fail whatever was on its way.</summary>
    /// <returns><paramref name="reason"/>.</returns>
    private ModbusException Break(ModbusException reason)
    {
        lock (gate)
        {
            BreakLocked(reason);
        }

        return reason;
    }

    private void BreakLocked(ModbusException reason)
    {
        if (broken is not null)
        {
            return;
        }

        broken = reason;
        while (activeCount > 0)
        {
            RemoveActive(activeCount - 1).Fail(reason);
        }

        gathered = 0;
        owedCount = 0;
        timer.Dispose();
        stream.Dispose();
        if (isDisposed)
        {
            Log.Closed(logger, options.Host, options.Port);
        }
        else
        {
            Log.Broken(logger, options.Host, options.Port, reason.Message);
        }
    }

    /// <summary>For requests after the break: the first cause, in an exception of its own.</summary>
    private ModbusConnectionException Lost() => new($"no connection: {broken!.Message}", broken);

    /// <summary>One timer serves all: it runs to the earliest deadline, and is set again only when it fires.</summary>
    private void ArmTimer(long sent)
    {
        if (!isTimerArmed)
        {
            isTimerArmed = true;
            var remaining = time.GetElapsedTime(0, Math.Max(0, sent + timeoutTicks - time.GetTimestamp()));

            // Timers cut to milliseconds: rounded down, the last fraction would be waited out in a loop.
            timer.Change(TimeSpan.FromMilliseconds(Math.Ceiling(remaining.TotalMilliseconds)), Timeout.InfiniteTimeSpan);
        }
    }

    private void Expire()
    {
        lock (gate)
        {
            isTimerArmed = false;
            var now = time.GetTimestamp();
            for (var i = activeCount - 1; i >= 0 && broken is null; i--)
            {
                if (now - active[i].Sent >= timeoutTicks)
                {
                    AbandonAt(i, new ModbusTimeoutException(active[i].Unit, active[i].Function, active[i].Address, options.Timeout));
                }
            }

            if (activeCount > 0)
            {
                var earliest = active[0].Sent;
                for (var i = 1; i < activeCount; i++)
                {
                    earliest = Math.Min(earliest, active[i].Sent);
                }

                ArmTimer(earliest);
            }
        }
    }

    private void AbandonAt(int index, Exception reason)
    {
        var now = time.GetTimestamp();
        ForgetLongOwed(now);
        if (owedCount == MaxOwed)
        {
            BreakLocked(new ModbusConnectionException($"{MaxOwed} answers are overdue: the peer does not answer"));
            return;
        }

        owed[owedCount++] = (active[index].Transaction, now);
        RemoveActive(index).Fail(reason);
    }

    private void ForgetLongOwed(long now)
    {
        for (var i = owedCount - 1; i >= 0; i--)
        {
            if (now - owed[i].Since > lateTicks)
            {
                RemoveOwed(i);
            }
        }
    }

    private int FindOwed(ushort transaction)
    {
        for (var i = 0; i < owedCount; i++)
        {
            if (owed[i].Transaction == transaction)
            {
                return i;
            }
        }

        return -1;
    }

    private void RemoveOwed(int index) => owed[index] = owed[--owedCount];
}
