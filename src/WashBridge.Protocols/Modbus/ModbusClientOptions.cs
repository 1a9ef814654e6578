namespace WashBridge.Protocols.Modbus;

/// <summary>How to reach a device, and how long to wait for it.</summary>
public sealed record ModbusClientOptions
{
    /// <summary>Name or address.</summary>
    public required string Host { get; init; }

    /// <summary>1 to 65,535; 502 by default (implementation guide V1.0b, 4.2.2).</summary>
    public int Port { get; init; } = 502;

    /// <summary>For one request, 1 ms to 10 min; 1 s by default.</summary>
    public TimeSpan Timeout { get; init; } = TimeSpan.FromSeconds(1);

    /// <summary>For a new connection, 1 ms to 10 min; 3 s by default.</summary>
    public TimeSpan ConnectTimeout { get; init; } = TimeSpan.FromSeconds(3);

    /// <summary>Requests on their way at once, 1 to 16 (implementation guide V1.0b, 4.4.1.3); 1 by default, as many devices take no more.</summary>
    public int InFlight { get; init; } = 1;

    /// <summary>How long the answer to a request that timed out is still expected, and its transaction id not used again. 1 ms to 10 min; 10 s by default.</summary>
    public TimeSpan LateReplyWindow { get; init; } = TimeSpan.FromSeconds(10);

    internal void Validate()
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(Host);
        Check(Port is >= 1 and <= 65535, nameof(Port), Port, "1 to 65535");
        Check(InFlight is >= 1 and <= ModbusClient.MaxInFlight, nameof(InFlight), InFlight, "1 to 16");
        Check(IsWait(Timeout), nameof(Timeout), Timeout, "1 ms to 10 min");
        Check(IsWait(ConnectTimeout), nameof(ConnectTimeout), ConnectTimeout, "1 ms to 10 min");
        Check(IsWait(LateReplyWindow), nameof(LateReplyWindow), LateReplyWindow, "1 ms to 10 min");
    }

    private static bool IsWait(TimeSpan wait) => wait >= TimeSpan.FromMilliseconds(1) && wait <= TimeSpan.FromMinutes(10);

    private static void Check(bool isAllowed, string name, object found, string allowed)
    {
        if (!isAllowed)
        {
            throw new ArgumentOutOfRangeException(name, found, $"allowed: {allowed}");
        }
    }
}
