using WashBridge.Protocols.Modbus;

namespace WashBridge.Configuration.Binding;

/// <summary>Where the values of a tag map lie: registers, or nodes of an OPC UA server. Keys of the other kind are refused by name.</summary>
internal abstract class SourceBinder
{
    private static readonly string[] ModbusMapKeys = ["address-base", "word-order", "byte-order"];
    private static readonly string[] ModbusTagKeys = ["table", "address", "type", "length", "word-order", "byte-order"];
    private static readonly string[] OpcUaTagKeys = ["node", "index", "queue"];

    /// <summary>Takes what the map says for all its tags.</summary>
    public static SourceBinder Of(MapBinder map, bool isOpcUa) => isOpcUa ? OfNodes(map) : OfRegisters(map);

    public abstract TagSource? Bind(MapBinder tag);

    private static Registers OfRegisters(MapBinder map)
    {
        map.Refuse(["namespaces"], "belongs to OPC UA, and this washer is read by Modbus TCP", "leave it out, or give the connection an endpoint");
        return new Registers(new PointDefaults(
            map.Integer("address-base", 0, 1),
            map.OptionalChoice<WordOrder>("word-order"),
            map.OptionalChoice<ByteOrder>("byte-order") ?? ByteOrder.HighFirst));
    }

    private static Nodes OfNodes(MapBinder map)
    {
        map.Refuse(ModbusMapKeys, "belongs to Modbus, and this washer is read by OPC UA", "leave it out");
        return new Nodes(NodeBinder.BindNamespaces(map));
    }

    private sealed class Registers(PointDefaults defaults) : SourceBinder
    {
        public override TagSource? Bind(MapBinder tag)
        {
            if (tag.Refuse(OpcUaTagKeys, "belongs to OPC UA, and this washer is read by Modbus TCP", "table, address and type, or give the connection an endpoint"))
            {
                tag.Ignore([.. ModbusTagKeys, "bit"]);
                return null;
            }

            return PointBinder.Bind(tag, defaults) is { } point ? new ModbusSource(point) : null;
        }
    }

    private sealed class Nodes(NodeAddressParser parser) : SourceBinder
    {
        public override TagSource? Bind(MapBinder tag)
        {
            if (tag.Refuse(ModbusTagKeys, "belongs to Modbus, and this washer is read by OPC UA", $"node: {NodeAddressParser.Form}") && tag.Node.Find("node") is null)
            {
                tag.Ignore([.. OpcUaTagKeys, "bit"]);
                return null;
            }

            return NodeBinder.Bind(tag, parser);
        }
    }
}
