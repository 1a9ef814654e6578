namespace WashBridge.Protocols.Modbus;

/// <summary>The four primary tables (Modbus application protocol V1.1b3, 4.3). Values are the function codes that read them.</summary>
public enum ModbusTable : byte
{
    /// <summary>Read by function 01.</summary>
    Coils = 1,

    /// <summary>Read by function 02.</summary>
    DiscreteInputs = 2,

    /// <summary>Read by function 03.</summary>
    HoldingRegisters = 3,

    /// <summary>Read by function 04.</summary>
    InputRegisters = 4,
}

/// <summary>Exception codes (V1.1b3, 7).</summary>
public enum ModbusExceptionCode : byte
{
    IllegalFunction = 0x01,
    IllegalDataAddress = 0x02,
    IllegalDataValue = 0x03,
    ServerDeviceFailure = 0x04,
    Acknowledge = 0x05,
    ServerDeviceBusy = 0x06,
    MemoryParityError = 0x08,
    GatewayPathUnavailable = 0x0A,
    GatewayTargetFailedToRespond = 0x0B,
}
