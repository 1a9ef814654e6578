using System.Buffers;
using System.Globalization;
using System.Text;

namespace WashBridge.Forwarding;

/// <summary>
/// The bytes of InfluxDB line protocol: escaping, numbers, and what cannot be written at all.
/// Syntax: InfluxDB documentation, "Line protocol", sections "Special characters" and "Data types and format".
/// </summary>
internal static class LineProtocol
{
    /// <summary>Longest text of a double ("-1.7976931348623157E+308") and of a long, with room to spare.</summary>
    private const int NumberBytes = 32;

    private static readonly SearchValues<char> InMeasurement = SearchValues.Create(", ");
    private static readonly SearchValues<char> InKey = SearchValues.Create(",= ");
    private static readonly SearchValues<char> InText = SearchValues.Create("\"\\");

    /// <exception cref="LineProtocolException">The name cannot be expressed.</exception>
    public static void WriteMeasurement(IBufferWriter<byte> output, string name)
    {
        if (name.StartsWith('#'))
        {
            // The server takes the line for a comment, answers 204 and stores nothing.
            throw new LineProtocolException($"the measurement '{name}' starts with '#'");
        }

        WriteName(output, name, "measurement", InMeasurement);
    }

    /// <summary>A tag key, tag value or field key.</summary>
    /// <exception cref="LineProtocolException">It cannot be expressed.</exception>
    public static void WriteKey(IBufferWriter<byte> output, string text, string what) => WriteName(output, text, what, InKey);

    /// <summary>A string field's value, quoted. Line feeds are allowed inside.</summary>
    public static void WriteText(IBufferWriter<byte> output, string text)
    {
        WriteByte(output, (byte)'"');
        WriteEscaped(output, text, InText);
        WriteByte(output, (byte)'"');
    }

    /// <summary>A float: the shortest text that reads back as the same double. The caller keeps NaN and infinities away.</summary>
    public static void WriteFloat(IBufferWriter<byte> output, double value)
    {
        value.TryFormat(output.GetSpan(NumberBytes), out var written, default, CultureInfo.InvariantCulture);
        output.Advance(written);
    }

    /// <summary>A signed 64-bit integer field. There is no unsigned form: servers of the 1.x line refuse it.</summary>
    public static void WriteInteger(IBufferWriter<byte> output, long value)
    {
        WriteTimestamp(output, value);
        WriteByte(output, (byte)'i');
    }

    public static void WriteTimestamp(IBufferWriter<byte> output, long value)
    {
        value.TryFormat(output.GetSpan(NumberBytes), out var written, default, CultureInfo.InvariantCulture);
        output.Advance(written);
    }

    public static void WriteByte(IBufferWriter<byte> output, byte value)
    {
        output.GetSpan(1)[0] = value;
        output.Advance(1);
    }

    private static void WriteName(IBufferWriter<byte> output, string text, string what, SearchValues<char> special)
    {
        if (text.Length == 0)
        {
            throw new LineProtocolException($"a {what} is empty");
        }

        for (var i = 0; i < text.Length; i++)
        {
            if (char.IsControl(text[i]))
            {
                throw new LineProtocolException($"the {what} '{text.ReplaceLineEndings(" ")}' holds a control character at position {i + 1}");
            }

            // A backslash is an ordinary character here, but not before one that is escaped by a backslash, nor before the delimiter at the
            // end. Servers of the 1.x line take it away before a double quote, too, in field keys.
            if (text[i] == '\\' && (i + 1 == text.Length || text[i + 1] == '"' || special.Contains(text[i + 1])))
            {
                throw new LineProtocolException($"the {what} '{text}' has a backslash where line protocol cannot express one");
            }
        }

        WriteEscaped(output, text, special);
    }

    private static void WriteEscaped(IBufferWriter<byte> output, ReadOnlySpan<char> text, SearchValues<char> special)
    {
        while (text.IndexOfAny(special) is var at and >= 0)
        {
            Encoding.UTF8.GetBytes(text[..at], output);
            WriteByte(output, (byte)'\\');
            WriteByte(output, (byte)text[at]);
            text = text[(at + 1)..];
        }

        Encoding.UTF8.GetBytes(text, output);
    }
}

/// <summary>A point that line protocol cannot express.</summary>
internal sealed class LineProtocolException(string message) : Exception(message);
