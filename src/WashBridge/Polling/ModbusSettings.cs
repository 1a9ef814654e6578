using WashBridge.Configuration;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Polling;

/// <summary>A washer's connection in the terms of the Modbus library.</summary>
internal static class ModbusSettings
{
    public static ModbusClientOptions ClientOptions(ModbusConnection connection) => new()
    {
        Host = connection.Host,
        Port = connection.Port,
        Timeout = connection.Timeout,
        ConnectTimeout = connection.Timeout * 3,
        InFlight = connection.InFlight,
    };

    public static ReadPlanOptions ReadPlan(ModbusConnection connection) => new()
    {
        GapAllowance = connection.GapAllowance,
        MaxRegisters = connection.MaxRegisters,
        MaxBits = connection.MaxBits,
    };
}
