namespace WashBridge.Protocols.Modbus;

/// <summary>A read that failed for a reason outside this program. What to do next depends on the kind.</summary>
public abstract class ModbusException : Exception
{
    private protected ModbusException(string message, bool isTransient, Exception? inner = null)
        : base(message, inner) => IsTransient = isTransient;

    /// <summary>True if the same request may succeed later without anybody changing anything.</summary>
    public bool IsTransient { get; }
}

/// <summary>The device answered with an exception (V1.1b3, 7). The connection is intact.</summary>
public sealed class ModbusDeviceException : ModbusException
{
    internal ModbusDeviceException(ModbusExceptionCode code, byte unit, byte function, ushort address, int quantity)
        : base($"unit {unit} refused function {function:00} for {quantity} from address {address}: {Describe(code)}", IsPassing(code))
    {
        Code = code;
        Unit = unit;
        Function = function;
        Address = address;
        Quantity = quantity;
    }

    public ModbusExceptionCode Code { get; }

    public byte Unit { get; }

    public byte Function { get; }

    /// <summary>Zero-based.</summary>
    public ushort Address { get; }

    public int Quantity { get; }

    /// <summary>True if the device does not have that address range or refuses its length: asking for parts of it may succeed.</summary>
    public bool IsRefusalOfRange => Code is ModbusExceptionCode.IllegalDataAddress or ModbusExceptionCode.IllegalDataValue;

    internal static string Describe(ModbusExceptionCode code) => code switch
    {
        ModbusExceptionCode.IllegalFunction => "exception 01, illegal function",
        ModbusExceptionCode.IllegalDataAddress => "exception 02, illegal data address",
        ModbusExceptionCode.IllegalDataValue => "exception 03, illegal data value",
        ModbusExceptionCode.ServerDeviceFailure => "exception 04, device failure",
        ModbusExceptionCode.Acknowledge => "exception 05, accepted but not finished",
        ModbusExceptionCode.ServerDeviceBusy => "exception 06, device busy",
        ModbusExceptionCode.MemoryParityError => "exception 08, memory parity error",
        ModbusExceptionCode.GatewayPathUnavailable => "exception 0A, gateway has no path to the unit",
        ModbusExceptionCode.GatewayTargetFailedToRespond => "exception 0B, unit did not answer the gateway",
        _ => $"exception {(byte)code:X2}, not one the specification knows",
    };

    /// <summary>Those that pass by themselves: wait longer before the next request.</summary>
    private static bool IsPassing(ModbusExceptionCode code) => code
        is ModbusExceptionCode.Acknowledge
        or ModbusExceptionCode.ServerDeviceBusy
        or ModbusExceptionCode.GatewayPathUnavailable
        or ModbusExceptionCode.GatewayTargetFailedToRespond;
}

/// <summary>No answer in time. The connection stays open: a late answer is told by its transaction id and dropped.</summary>
public sealed class ModbusTimeoutException : ModbusException
{
    internal ModbusTimeoutException(byte unit, byte function, ushort address, TimeSpan timeout)
        : base($"unit {unit} did not answer function {function:00} at address {address} within {timeout.TotalMilliseconds:0} ms", isTransient: true)
    {
    }
}

/// <summary>The peer broke the protocol; the connection has been closed, because what comes next on it cannot be trusted.</summary>
public sealed class ModbusProtocolException : ModbusException
{
    internal ModbusProtocolException(string message)
        : base(message, isTransient: false)
    {
    }
}

/// <summary>There is no connection (any more): make a new one.</summary>
public sealed class ModbusConnectionException : ModbusException
{
    internal ModbusConnectionException(string message, Exception? inner = null)
        : base(message, isTransient: true, inner)
    {
    }
}
