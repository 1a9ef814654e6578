namespace WashBridge.Protocols.Modbus;

/// <summary>
/// When the device can have sampled what it answered: not before <paramref name="Sent"/> and not after <paramref name="Received"/>.
/// </summary>
/// <param name="Sent"><see cref="TimeProvider.GetTimestamp"/>, taken before the request was written.</param>
/// <param name="Received"><see cref="TimeProvider.GetTimestamp"/>, taken after the complete answer was read.</param>
public readonly record struct ModbusTiming(long Sent, long Received)
{
    public TimeSpan RoundTrip(TimeProvider time) => time.GetElapsedTime(Sent, Received);
}
