using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Protocols.OpcUa;

namespace WashBridge.Checking;

/// <summary>Whether what a server holds can become what a signal is. Pure.</summary>
internal static class NodeFit
{
    /// <summary>Null: it fits.</summary>
    /// <param name="value">A value that the server gave with a good or uncertain status.</param>
    public static string? Problem(SignalType signal, OpcUaSource source, Variant value)
    {
        if (value.IsNull)
        {
            return "the server gives no value";
        }

        if (value.IsArray && source.Index is null)
        {
            return $"it is an array of {value.Elements!.Length}: index must tell which element";
        }

        if (!value.IsArray && source.Index is not null)
        {
            return $"it is one {value.Type}, not an array: leave index out";
        }

        if (value.IsArray && source.Index >= value.Elements!.Length)
        {
            return $"there is no element {source.Index}; the array has {value.Elements.Length}, counted from 0";
        }

        return source.Bit is { } bit ? Bit(bit, value.Type) : Type(signal, value.Type);
    }

    private static string? Bit(int bit, BuiltInType type) => Bits(type) switch
    {
        0 => $"{type} has no bits: leave bit out",
        var bits when bit >= bits => $"{type} has bits 0 to {bits - 1}",
        _ => null,
    };

    private static string? Type(SignalType signal, BuiltInType type)
    {
        var fits = signal switch
        {
            SignalType.Flag => type == BuiltInType.Boolean || Bits(type) > 0,
            SignalType.Integer => Bits(type) > 0,
            SignalType.Quantity => Bits(type) > 0 || type is BuiltInType.Float or BuiltInType.Double,
            _ => type is BuiltInType.String or BuiltInType.LocalizedText || Bits(type) > 0,
        };
        return fits || type == BuiltInType.Variant ? null : $"{type} does not fit a signal that is {Name(signal)}";
    }

    private static int Bits(BuiltInType type) => type switch
    {
        BuiltInType.SByte or BuiltInType.Byte => 8,
        BuiltInType.Int16 or BuiltInType.UInt16 => 16,
        BuiltInType.Int32 or BuiltInType.UInt32 => 32,
        BuiltInType.Int64 or BuiltInType.UInt64 => 64,
        _ => 0,
    };

    private static string Name(SignalType type) => type switch
    {
        SignalType.Flag => "true or false",
        SignalType.Integer => "a whole number",
        SignalType.Quantity => "a measured quantity",
        _ => "text",
    };
}
