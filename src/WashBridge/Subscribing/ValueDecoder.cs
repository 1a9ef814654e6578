using System.Globalization;
using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Polling;
using WashBridge.Protocols.OpcUa;

namespace WashBridge.Subscribing;

/// <summary>Turns a value of a server into what a signal is. Pure.</summary>
internal static class ValueDecoder
{
    /// <summary>The severity of the status is the quality (OPC 10000-4, 7.39); what cannot be decoded is bad.</summary>
    public static TagReading Decode(Tag tag, OpcUaSource source, DataValue value)
    {
        if (value.Status.IsBad)
        {
            return TagDecoder.Bad($"the server says {value.Status.Code}");
        }

        var reading = Element(source.Index, value.Value) is { } element ? Decode(tag, source.Bit, element) : TagDecoder.Bad($"there is no element {source.Index} in {value.Value}");
        return value.Status.IsUncertain && reading.Quality == Quality.Good
            ? reading with { Quality = Quality.Uncertain, Reason = $"the server says {value.Status.Code}" }
            : reading;
    }

    private static Variant? Element(int? index, Variant value)
    {
        if (index is not { } at)
        {
            return value;
        }

        return value.Elements is { } elements && at < elements.Length ? elements.GetValue(at) switch
        {
            bool v => v,
            sbyte v => v,
            byte v => v,
            short v => v,
            ushort v => v,
            int v => v,
            uint v => v,
            long v => v,
            ulong v => v,
            float v => v,
            double v => v,
            string v => v,
            LocalizedText v => v,
            Variant v => v,
            _ => default(Variant?),
        }
        : null;
    }

    private static TagReading Decode(Tag tag, int? bit, Variant value)
    {
        if (tag.Signal.Type == SignalType.Text)
        {
            return Text(value) is { } text ? TagDecoder.Text(text) : TagDecoder.Bad($"the value is {Named(value)}, not a text");
        }

        if (!value.TryGetNumber(out var number))
        {
            return TagDecoder.Bad($"the value is {Named(value)}, not a number");
        }

        if (bit is { } place)
        {
            return Whole(value) is { } whole ? TagDecoder.Flag(tag, ((whole >> place) & 1) != 0) : TagDecoder.Bad($"the value is {Named(value)}, which has no bits");
        }

        return tag.Signal.Type == SignalType.Flag ? TagDecoder.Flag(tag, number != 0) : TagDecoder.Number(tag, number, IsInexact(value));
    }

    private static string? Text(Variant value) => value switch
    {
        { IsArray: true } => null,
        { Type: BuiltInType.String } => value.As<string>() ?? "",
        { Type: BuiltInType.LocalizedText } => value.As<LocalizedText>().Text ?? "",
        { Type: >= BuiltInType.SByte and <= BuiltInType.UInt64 } => string.Create(CultureInfo.InvariantCulture, $"{value.Value}"),
        _ => null,
    };

    private static long? Whole(Variant value) => value switch
    {
        { IsArray: true } => null,
        { Type: >= BuiltInType.SByte and <= BuiltInType.Int64 } => (long)Convert.ToInt64(value.Value, CultureInfo.InvariantCulture),
        { Type: BuiltInType.UInt64 } => (long)value.As<ulong>(),
        _ => null,
    };

    /// <summary>A whole number that a double cannot hold.</summary>
    private static bool IsInexact(Variant value) => value.Type switch
    {
        BuiltInType.Int64 => (long)(double)value.As<long>() != value.As<long>(),
        BuiltInType.UInt64 => (ulong)(double)value.As<ulong>() != value.As<ulong>(),
        _ => false,
    };

    private static string Named(Variant value) => value.IsNull ? "missing" : value.IsArray ? $"an array of {value.Type}" : $"of type {value.Type}";
}
