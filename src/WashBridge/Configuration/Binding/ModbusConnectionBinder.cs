namespace WashBridge.Configuration.Binding;

/// <summary>How a controller is reached by Modbus TCP.</summary>
internal static class ModbusConnectionBinder
{
    public static ModbusConnection Bind(MapBinder map)
    {
        var connection = new ModbusConnection
        {
            Host = map.Text("host", TextForms.Host),
            Port = map.Integer("port", 1, 65_535, 502),
            Unit = (byte)map.Integer("unit", 0, 255, 255),
            Timeout = map.Duration("timeout", TimeSpan.FromMilliseconds(50), TimeSpan.FromSeconds(60), TimeSpan.FromSeconds(1)),
            InFlight = map.Integer("requests-in-flight", 1, 16, 1),
            GapAllowance = map.Integer("gap-allowance", 0, 120, 8),
            MaxRegisters = map.Integer("max-registers", 1, 125, 125),
            MaxBits = map.Integer("max-bits", 1, 2_000, 2_000),
        };
        return connection;
    }
}
