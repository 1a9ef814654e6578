using System.Globalization;
using System.Text;
using WashBridge.Core;
using WashBridge.Core.Signals;

namespace WashBridge.Historian.Tests;

/// <summary>Everything there is in a frame, an entry or a sample as text, numbers to the bit: equal text, equal record.</summary>
internal static class Exact
{
    public static string Text(LogEntry entry) =>
        string.Create(CultureInfo.InvariantCulture, $"{entry.Sequence}: ") + (entry.Frame is { } frame ? Text(frame) : WashJson.Write(entry.Event!));

    public static string Text(Frame frame)
    {
        var text = new StringBuilder(string.Create(CultureInfo.InvariantCulture,
            $"{frame.Washer}|{frame.Group}|{(byte)frame.Kind}|{frame.Read.Earliest.UnixMicroseconds}|{frame.Read.Latest.UnixMicroseconds}|{Units(frame.Reason)}|{frame.Clock is not null}|{frame.Clock?.Shift?.Ticks}"));
        foreach (var sample in frame.Samples)
        {
            text.Append(' ').Append(Text(sample));
        }

        return text.ToString();
    }

    public static string Text(Sample sample) => string.Create(CultureInfo.InvariantCulture,
        $"[{sample.Signal} {sample.Signal.Unit} {sample.Signal.Type} {BitConverter.DoubleToInt64Bits(sample.Value.Number):x} {Units(sample.Value.Text)} {(byte)sample.Quality} {sample.At.Earliest.UnixMicroseconds} {sample.At.Latest.UnixMicroseconds}]");

    /// <summary>As code units, because text may be no valid UTF-16.</summary>
    private static string Units(string? text) => text is null ? "null" : string.Join('.', text.Select(c => (int)c));
}
