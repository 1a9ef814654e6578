using WashBridge.Core.Time;

namespace WashBridge.Core.Signals;

/// <summary>How far a value can be trusted: the severity of an OPC UA status code (OPC 10000-4, 7.39, bits 30-31).</summary>
public enum Quality : byte
{
    Good = 0,
    Uncertain = 1,
    Bad = 2,
}

/// <summary>A signal's value: a number, or text for signals of type <see cref="SignalType.Text"/>.</summary>
/// <param name="Number">The number; a flag is 0 or 1; NaN where there is none.</param>
/// <param name="Text">The text, or null.</param>
public readonly record struct SignalValue(double Number, string? Text = null)
{
    public static SignalValue None => new(double.NaN);

    public static SignalValue Of(string text) => new(double.NaN, text);

    public bool IsSet => Number != 0 && !double.IsNaN(Number);
}

/// <summary>One value of one signal, and when the controller can have held it.</summary>
/// <param name="Signal">Which signal.</param>
/// <param name="Value">The value in the signal's unit; <see cref="SignalValue.None"/> when the quality is bad.</param>
/// <param name="Quality">How far it can be trusted.</param>
/// <param name="At">For a poll: request sent to response received. For a subscription: source timestamp less the sampling interval, to the source timestamp.</param>
public readonly record struct Sample(Signal Signal, SignalValue Value, Quality Quality, TimeBounds At);
