using WashBridge.Protocols.Modbus;

namespace WashBridge.Configuration.Binding;

/// <summary>What holds for all tags of a map unless a tag says otherwise.</summary>
/// <param name="AddressBase">What the first address of a table is called: 0 as in the protocol, 1 as in many controllers' lists.</param>
/// <param name="Words">Null: not given; the specification defines no order, so each wider value must tell its own.</param>
/// <param name="Bytes">Order of bytes in a register.</param>
internal sealed record PointDefaults(int AddressBase, WordOrder? Words, ByteOrder Bytes);

/// <summary>The part of a tag that tells where and how the controller keeps it.</summary>
internal static class PointBinder
{
    public static ModbusPoint? Bind(MapBinder map, PointDefaults defaults)
    {
        var before = map.Problems.Count;
        var table = map.Choice<ModbusTable>("table");
        var address = map.Integer("address", defaults.AddressBase, 65_535 + defaults.AddressBase) - defaults.AddressBase;
        var type = map.OptionalChoice<RegisterType>("type");
        var bit = map.OptionalInteger("bit", 0, 15);
        var length = map.OptionalInteger("length", 1, RegisterCodec.MaxTextLength);
        var words = map.OptionalChoice<WordOrder>("word-order") ?? defaults.Words;
        var bytes = map.OptionalChoice<ByteOrder>("byte-order") ?? defaults.Bytes;
        if (map.Problems.Count > before)
        {
            return null;
        }

        var isBitTable = table is ModbusTable.Coils or ModbusTable.DiscreteInputs;
        if (!isBitTable && type is null)
        {
            map.Problems.Add(map.PlaceOf("type"), "the key type is missing", "", Scalars.OneOf(Names.Of<RegisterType>()));
            return null;
        }

        var point = new ModbusPoint(table, (ushort)address, type ?? RegisterType.Bit, bit ?? 0, length ?? 0, WordOrder.HighFirst, bytes);
        CheckKeys(map, point, isBitTable);
        if (map.Problems.Count > before)
        {
            return null;
        }

        // An order of words has a meaning only where there are several.
        var isWide = point.Type != RegisterType.Text && RegisterCodec.Width(point) > 1;
        CheckExtent(map, point);
        if (isWide && words is null)
        {
            map.Problems.Add(map.PlaceOf("word-order"), "no word order is given for a value of more than one register, and the Modbus specification defines none", "", Scalars.OneOf(Names.Of<WordOrder>()) + ", here or for the whole map");
        }

        return map.Problems.Count > before ? null : point with { Words = isWide ? words!.Value : WordOrder.HighFirst };
    }

    private static void CheckKeys(MapBinder map, ModbusPoint point, bool isBitTable)
    {
        if (isBitTable && point.Type != RegisterType.Bit)
        {
            map.Problems.Add(map.PlaceOf("type"), $"{Names.NameOf(point.Table)} hold single bits", Names.NameOf(point.Type), "bit, or leave it out");
        }

        Wanted("bit", point.Type == RegisterType.Bit && !isBitTable, "a bit of a register", Scalars.WholeRange(0, 15) + ", 0 being the least significant");
        Wanted("length", point.Type == RegisterType.Text, "text", Scalars.WholeRange(1, RegisterCodec.MaxTextLength) + ", in characters");

        void Wanted(string key, bool wanted, string what, string allowed)
        {
            var given = map.Node.Find(key) is not null;
            if (wanted && !given)
            {
                map.Problems.Add(map.PlaceOf(key), $"the key {key} is missing: it is needed for {what}", "", allowed);
            }
            else if (given && !wanted)
            {
                map.Problems.Add(map.Node.Find(key)!.Value, $"{key} belongs to {what} only", "leave it out");
            }
        }
    }

    private static void CheckExtent(MapBinder map, ModbusPoint point)
    {
        var count = RegisterCodec.Width(point);
        if (point.Address + count > 65_536)
        {
            map.Problems.Add(map.Node.Find("address")!.Value, $"the value takes {count} registers and would end beyond the last one", $"an address at least {count - 1} lower");
        }
    }
}
