using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Polling;

/// <summary>A tag's value as a signal.</summary>
/// <param name="Value">In the signal's unit; <see cref="SignalValue.None"/> when the quality is bad.</param>
/// <param name="Quality">How far it can be trusted.</param>
/// <param name="Reason">Why it is not good; null when it is.</param>
internal readonly record struct TagReading(SignalValue Value, Quality Quality, string? Reason)
{
    public Sample At(Signal signal, TimeBounds at) => new(signal, Value, Quality, at);
}

/// <summary>Turns what a controller holds into what a signal is: value = raw x scale + offset. Pure.</summary>
internal static class TagDecoder
{
    public static TagReading Decode(Tag tag, ModbusValue raw)
    {
        if (!raw.HasValue)
        {
            return Bad(raw.Issue == DecodeIssue.NotBcd ? "a digit of the BCD value is above 9" : "the text holds characters that are not printable ASCII");
        }

        return tag.Signal.Type switch
        {
            SignalType.Text => Text(raw.Text ?? ""),
            SignalType.Flag => Flag(tag, raw.Number != 0),
            _ => Number(tag, raw.Number, raw.Issue == DecodeIssue.Inexact),
        };
    }

    /// <summary>What a scan read for the tag.</summary>
    public static TagReading Decode(Tag tag, in PointReading reading) => reading.Error is { } error
        ? Bad(error.Message)
        : Decode(tag, new ModbusValue(reading.Value, reading.Text, reading.IsInexact ? DecodeIssue.Inexact : DecodeIssue.None));

    public static TagReading Bad(string reason) => new(SignalValue.None, Quality.Bad, reason);

    public static TagReading Text(string text) => new(SignalValue.Of(text), Quality.Good, null);

    public static TagReading Flag(Tag tag, bool raw) => new(new SignalValue(raw ^ tag.Invert ? 1 : 0), Quality.Good, null);

    /// <param name="isInexact">The controller's whole number is beyond what a double holds.</param>
    public static TagReading Number(Tag tag, double raw, bool isInexact)
    {
        var number = Scale(raw, tag.Scale) + tag.Offset;
        if (!double.IsFinite(number))
        {
            return Bad(double.IsNaN(number) ? "the controller sends no number (NaN)" : "the controller sends infinity");
        }

        var reason = isInexact ? "a whole number beyond 2^53 is rounded"
            : number < tag.Minimum ? "below the minimum of the tag map"
            : number > tag.Maximum ? "above the maximum of the tag map"
            : null;
        return new TagReading(new SignalValue(number), reason is null ? Quality.Good : Quality.Uncertain, reason);
    }

    /// <summary>
    /// A scale such as 0.1 is no binary fraction: 3 x 0.1 is not 0.3, but 3 / 10 is. Dividing by the whole reciprocal where there is one keeps
    /// values as people write them, and they compress better.
    /// </summary>
    private static double Scale(double raw, double scale)
    {
        var reciprocal = Math.Round(1 / scale);
        return Math.Abs(reciprocal) > 1 && 1 / reciprocal == scale ? raw / reciprocal : raw * scale;
    }
}
