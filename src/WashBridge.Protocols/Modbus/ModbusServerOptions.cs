namespace WashBridge.Protocols.Modbus;

/// <summary>Limits of a <see cref="ModbusServer"/>.</summary>
public sealed record ModbusServerOptions
{
    /// <summary>Connections at once, 1 to 1,000; one more is closed at once. 64 by default.</summary>
    public int MaxConnections { get; init; } = 64;

    /// <summary>A connection without a complete request for this long is closed. 100 ms to 1 day; 5 min by default.</summary>
    public TimeSpan IdleTimeout { get; init; } = TimeSpan.FromMinutes(5);

    /// <summary>Asked before every reply, to serve a slow device: how long to wait, at most 10 min; nothing by default.</summary>
    public Func<TimeSpan>? ReplyDelay { get; init; }

    internal void Validate()
    {
        if (MaxConnections is < 1 or > 1000)
        {
            throw new ArgumentOutOfRangeException(nameof(MaxConnections), MaxConnections, "allowed: 1 to 1000");
        }

        if (IdleTimeout < TimeSpan.FromMilliseconds(100) || IdleTimeout > TimeSpan.FromDays(1))
        {
            throw new ArgumentOutOfRangeException(nameof(IdleTimeout), IdleTimeout, "allowed: 100 ms to 1 day");
        }
    }
}
