using System.Threading.Tasks.Sources;

namespace WashBridge.Protocols.Modbus;

/// <summary>
/// One request on its way and where its answer goes. Used again and again, so that a request costs no allocation.
/// Everything but the task's own state is guarded by the client's lock.
/// </summary>
internal sealed class PendingRead(ModbusClient client) : IValueTaskSource<ModbusTiming>
{
    private static readonly Action<object?, CancellationToken> OnCancelled = static (state, token) => ((PendingRead)state!).Cancel(token);

    /// <summary>Callers never run on the thread that holds the client's lock.</summary>
    private ManualResetValueTaskSourceCore<ModbusTiming> core = new() { RunContinuationsAsynchronously = true };

    private CancellationTokenRegistration cancellation;

    public byte Unit { get; private set; }

    public byte Function { get; private set; }

    /// <summary>For device identification: the object to begin with.</summary>
    public ushort Address { get; private set; }

    /// <summary>For device identification: the kind of access.</summary>
    public ushort Quantity { get; private set; }

    public Memory<bool> Bits { get; private set; }

    public Memory<ushort> Registers { get; private set; }

    /// <summary>For a reply that is taken as it is: at least <see cref="Mbap.MaxPdu"/> bytes.</summary>
    public Memory<byte> Pdu { get; private set; }

    public int PduLength { get; set; }

    public ushort Transaction { get; set; }

    public long Sent { get; set; }

    /// <summary>Somebody has registered to be called back.</summary>
    public bool IsAwaited { get; set; }

    public short Version => core.Version;

    public PendingRead Ask(byte unit, ModbusTable table, ushort address, Memory<bool> destination)
    {
        (Unit, Function, Address, Quantity, Bits) = (unit, (byte)table, address, (ushort)destination.Length, destination);
        return this;
    }

    public PendingRead Ask(byte unit, ModbusTable table, ushort address, Memory<ushort> destination)
    {
        (Unit, Function, Address, Quantity, Registers) = (unit, (byte)table, address, (ushort)destination.Length, destination);
        return this;
    }

    public PendingRead AskIdentification(byte unit, DeviceIdentificationLevel level, byte firstObject, Memory<byte> pdu)
    {
        (Unit, Function, Address, Quantity, Pdu) = (unit, DeviceIdentificationPdu.Function, firstObject, (ushort)level, pdu);
        return this;
    }

    public void AbandonWhen(CancellationToken cancelled)
    {
        if (cancelled.CanBeCanceled)
        {
            cancellation = cancelled.UnsafeRegister(OnCancelled, this);
        }
    }

    public void Succeed(ModbusTiming timing)
    {
        Forget();
        core.SetResult(timing);
    }

    public void Fail(Exception reason)
    {
        Forget();
        core.SetException(reason);
    }

    public ValueTaskSourceStatus GetStatus(short token)
    {
        var status = core.GetStatus(token);
        if (status == ValueTaskSourceStatus.Pending && client.TryReceiveNow(this))
        {
            status = core.GetStatus(token);
        }

        return status;
    }

    public void OnCompleted(Action<object?> continuation, object? state, short token, ValueTaskSourceOnCompletedFlags flags)
    {
        // In this order: once the continuation is registered, this object may already serve the next request.
        var mustReceive = client.Await(this);
        core.OnCompleted(continuation, state, token, flags);
        if (mustReceive)
        {
            client.Receive();
        }
    }

    public ModbusTiming GetResult(short token)
    {
        try
        {
            // A cancellation on its way has ended when this returns: it cannot hit the next request.
            cancellation.Dispose();
            return core.GetResult(token);
        }
        finally
        {
            cancellation = default;
            core.Reset();
            client.Return(this);
        }
    }

    private void Cancel(CancellationToken token) => client.Abandon(this, new OperationCanceledException(token));

    /// <summary>The caller's memory is the caller's again.</summary>
    private void Forget()
    {
        Bits = default;
        Registers = default;
        Pdu = default;
        IsAwaited = false;
    }
}
