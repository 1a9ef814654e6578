using Google.Protobuf;

namespace WashBridge.Messaging;

/// <summary>Data types of Sparkplug 3.0.0, 6.4.16, as far as they are used. Whole numbers are signed ones: libraries disagree about where a UInt32 stands.</summary>
internal enum SparkplugType
{
    Int32 = 3,
    Int64 = 4,
    Double = 10,
    Boolean = 11,
    String = 12,
    DateTime = 13,
}

/// <summary>One metric of a message.</summary>
/// <param name="Name">Null: it is named by its alias.</param>
/// <param name="Alias">Unique at the edge node; null: it is named by its name.</param>
/// <param name="Type">How the value is written.</param>
/// <param name="Value">bool, int, long, double, string, or for <see cref="SparkplugType.DateTime"/> a long of milliseconds since 1970; null: nothing is known.</param>
/// <param name="At">Milliseconds since 1970, UTC.</param>
internal sealed record SparkplugMetric(string? Name, ulong? Alias, SparkplugType Type, object? Value, long At)
{
    /// <summary>Its own time is past, and it must not be taken for the present.</summary>
    public bool IsHistorical { get; init; }

    /// <summary>The type is told in birth certificates only.</summary>
    public bool TellsType { get; init; }

    /// <summary>Property <c>engUnit</c>; empty: none.</summary>
    public string Unit { get; init; } = "";
}

/// <summary>Writes the Payload message of Sparkplug B (Sparkplug 3.0.0, 6.4.1: the Protocol Buffers schema; field numbers are those of it).</summary>
internal static class SparkplugPayload
{
    /// <param name="metrics">In the order in which they are written.</param>
    /// <param name="timestamp">Milliseconds since 1970, UTC: when it is sent.</param>
    /// <param name="sequence">0 to 255; null in a node's death certificate.</param>
    public static byte[] Write(IEnumerable<SparkplugMetric> metrics, long timestamp, byte? sequence)
    {
        return Message(payload =>
        {
            WriteNumber(payload, 1, (ulong)timestamp);
            foreach (var metric in metrics)
            {
                WriteMessage(payload, 2, Message(m => WriteMetric(m, metric)));
            }

            if (sequence is { } number)
            {
                WriteNumber(payload, 3, number);
            }
        });
    }

    private static void WriteMetric(CodedOutputStream output, SparkplugMetric metric)
    {
        if (metric.Name is { } name)
        {
            WriteText(output, 1, name);
        }

        if (metric.Alias is { } alias)
        {
            WriteNumber(output, 2, alias);
        }

        WriteNumber(output, 3, (ulong)metric.At);
        if (metric.TellsType)
        {
            WriteNumber(output, 4, (ulong)metric.Type);
        }

        if (metric.IsHistorical)
        {
            WriteFlag(output, 5, true);
        }

        if (metric.Value is null)
        {
            WriteFlag(output, 7, true);
        }

        if (metric.Unit.Length > 0)
        {
            WriteMessage(output, 9, Message(p => WriteProperty(p, "engUnit", metric.Unit)));
        }

        if (metric.Value is not null)
        {
            WriteValue(output, metric.Type, metric.Value);
        }
    }

    /// <summary>Signed numbers stand as the two's complement in fields that are unsigned (6.4.16).</summary>
    private static void WriteValue(CodedOutputStream output, SparkplugType type, object value)
    {
        switch (type)
        {
            case SparkplugType.Int32:
                WriteNumber(output, 10, (uint)(int)value);
                break;
            case SparkplugType.Int64 or SparkplugType.DateTime:
                WriteNumber(output, 11, (ulong)(long)value);
                break;
            case SparkplugType.Double:
                output.WriteTag(13, WireFormat.WireType.Fixed64);
                output.WriteDouble((double)value);
                break;
            case SparkplugType.Boolean:
                WriteFlag(output, 14, (bool)value);
                break;
            case SparkplugType.String:
                WriteText(output, 15, (string)value);
                break;
            default:
                throw new ArgumentOutOfRangeException(nameof(type), type, null);
        }
    }

    /// <summary>A PropertySet of one key: keys are field 1, values field 2; of a value the type is field 1 and text field 8.</summary>
    private static void WriteProperty(CodedOutputStream output, string key, string text)
    {
        WriteText(output, 1, key);
        WriteMessage(output, 2, Message(value =>
        {
            WriteNumber(value, 1, (ulong)SparkplugType.String);
            WriteText(value, 8, text);
        }));
    }

    private static byte[] Message(Action<CodedOutputStream> write)
    {
        using var bytes = new MemoryStream();
        using var output = new CodedOutputStream(bytes);
        write(output);
        output.Flush();
        return bytes.ToArray();
    }

    private static void WriteMessage(CodedOutputStream output, int field, byte[] message)
    {
        output.WriteTag(field, WireFormat.WireType.LengthDelimited);
        output.WriteBytes(UnsafeByteOperations.UnsafeWrap(message));
    }

    private static void WriteText(CodedOutputStream output, int field, string text)
    {
        output.WriteTag(field, WireFormat.WireType.LengthDelimited);
        output.WriteString(text);
    }

    private static void WriteNumber(CodedOutputStream output, int field, ulong number)
    {
        output.WriteTag(field, WireFormat.WireType.Varint);
        output.WriteUInt64(number);
    }

    private static void WriteFlag(CodedOutputStream output, int field, bool flag)
    {
        output.WriteTag(field, WireFormat.WireType.Varint);
        output.WriteBool(flag);
    }
}
