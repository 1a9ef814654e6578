using System.Text.RegularExpressions;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Importing;

/// <summary>A type of a list.</summary>
/// <param name="Type">How the value lies in its registers.</param>
/// <param name="Length">Characters of a text, else null.</param>
internal sealed record ListType(RegisterType Type, int? Length = null);

/// <summary>Reads the names that controllers (IEC 61131-3) and programming languages give types.</summary>
internal static partial class TypeCell
{
    private static readonly Dictionary<string, RegisterType> ByName = new()
    {
        ["bool"] = RegisterType.Bit, ["bit"] = RegisterType.Bit, ["boolean"] = RegisterType.Bit,
        ["int"] = RegisterType.Int16, ["int16"] = RegisterType.Int16, ["short"] = RegisterType.Int16,
        ["word"] = RegisterType.UInt16, ["uint"] = RegisterType.UInt16, ["uint16"] = RegisterType.UInt16, ["ushort"] = RegisterType.UInt16,
        ["dint"] = RegisterType.Int32, ["int32"] = RegisterType.Int32,
        ["dword"] = RegisterType.UInt32, ["udint"] = RegisterType.UInt32, ["uint32"] = RegisterType.UInt32,
        ["lint"] = RegisterType.Int64, ["int64"] = RegisterType.Int64, ["ulint"] = RegisterType.UInt64, ["uint64"] = RegisterType.UInt64, ["lword"] = RegisterType.UInt64,
        ["real"] = RegisterType.Float32, ["float"] = RegisterType.Float32, ["float32"] = RegisterType.Float32,
        ["lreal"] = RegisterType.Float64, ["double"] = RegisterType.Float64, ["float64"] = RegisterType.Float64,
        ["bcd"] = RegisterType.Bcd16, ["bcd16"] = RegisterType.Bcd16, ["bcd32"] = RegisterType.Bcd32,
    };

    public static Guess<ListType> Read(string text, ListAddress? address)
    {
        if (address is { Table: ModbusTable.Coils or ModbusTable.DiscreteInputs } or { Bit: not null })
        {
            return Guess<ListType>.Of(new ListType(RegisterType.Bit));
        }

        var name = text.ToLowerInvariant();
        if (ByName.TryGetValue(name, out var type))
        {
            return type == RegisterType.Bit && address is not null
                ? Guess<ListType>.Open("type: a bit of a register, and the list does not tell which")
                : Guess<ListType>.Of(new ListType(type));
        }

        if (Characters().Match(name) is { Success: true } match && int.Parse(match.Groups[1].ValueSpan) is >= 1 and <= RegisterCodec.MaxTextLength and var length)
        {
            return Guess<ListType>.Of(new ListType(RegisterType.Text, length));
        }

        return Guess<ListType>.Open(text.Length == 0 ? "type: the list gives none" : $"type: \"{text}\" is not understood");
    }

    [GeneratedRegex(@"^(?:string|char|text)\s*[\[(]\s*([0-9]{1,3})\s*[\])]\z")]
    private static partial Regex Characters();
}
