namespace WashBridge.Configuration.Binding;

/// <summary>How a controller is reached: by Modbus TCP, where the connection has a host, or by OPC UA, where it has an endpoint.</summary>
internal static class ConnectionBinder
{
    private static readonly string[] ModbusKeys = ["host", "port", "unit", "requests-in-flight", "gap-allowance", "max-registers", "max-bits"];

    private static readonly string[] OpcUaKeys =
        ["endpoint", "security-policy", "security-mode", "user", "secret", "readable-password", "user-certificate", "user-key", "server-uri", "allow", "session-timeout"];

    /// <summary>Null: it cannot be told which of the two is meant.</summary>
    public static ControllerConnection? Bind(MapBinder? map, SourceFiles sources)
    {
        if (map is null)
        {
            return null;
        }

        if (!HasAny(ModbusKeys) && !HasAny(OpcUaKeys))
        {
            map.Problems.Add(map.Place, "the connection does not tell where the controller is", string.Join(", ", map.Node.Entries.Select(e => e.Key.Text)), "host for Modbus TCP, or endpoint for OPC UA");
            return null;
        }

        var isOpcUa = HasAny(["endpoint"]) || (!HasAny(["host"]) && HasAny(OpcUaKeys));
        if (isOpcUa)
        {
            map.Refuse(ModbusKeys, "belongs to Modbus TCP, and this connection is one by OPC UA", "leave it out; host and port stand in the endpoint");
        }
        else
        {
            map.Refuse(OpcUaKeys, "belongs to OPC UA, and this connection has a Modbus host", "leave it out, or give an endpoint in place of the host");
        }

        ControllerConnection connection = isOpcUa ? OpcUaConnectionBinder.Bind(map, sources) : ModbusConnectionBinder.Bind(map);
        map.Finish();
        return connection;

        bool HasAny(string[] keys) => Array.Exists(keys, k => map.Node.Find(k) is not null);
    }
}
