using System.Buffers;

namespace WashBridge.Forwarding;

/// <summary>
/// One point under construction. It is used again for the next one, so that a point costs no allocation. Keys are written in ordinal
/// order whatever the order of the calls, so that the same point is the same line to the byte.
/// </summary>
internal sealed class LinePoint
{
    private readonly List<(string Key, string Value)> _tags = [];
    private readonly List<(string Key, FieldValue Value)> _fields = [];
    private string _measurement = "";

    /// <summary>Numbers of this point that InfluxDB has no form for: NaN and infinities. Their fields are left out.</summary>
    public int OmittedFields { get; private set; }

    /// <summary>Begins a new point.</summary>
    public LinePoint Start(string measurement)
    {
        _measurement = measurement;
        _tags.Clear();
        _fields.Clear();
        OmittedFields = 0;
        return this;
    }

    /// <summary>A tag without a value is no tag: line protocol has no empty ones.</summary>
    public LinePoint Tag(string key, string? value)
    {
        if (!string.IsNullOrEmpty(value))
        {
            Insert(_tags, key, value);
        }

        return this;
    }

    public LinePoint Field(string key, double? value)
    {
        if (value is { } number)
        {
            if (double.IsFinite(number))
            {
                Insert(_fields, key, new FieldValue(number, 0, null));
            }
            else
            {
                OmittedFields++;
            }
        }

        return this;
    }

    public LinePoint Field(string key, long? value) => value is { } known ? Field(key, known) : this;

    public LinePoint Field(string key, long value) => Insert(_fields, key, new FieldValue(double.NaN, value, null));

    /// <summary>Flags are integers: InfluxQL can average and sum them.</summary>
    public LinePoint Field(string key, bool value) => Field(key, value ? 1L : 0L);

    public LinePoint Field(string key, string? value) => value is null ? this : Insert(_fields, key, new FieldValue(double.NaN, 0, value));

    /// <summary>Writes the line with its line feed; false, and nothing written, when no field is left.</summary>
    /// <exception cref="LineProtocolException">A name or tag cannot be expressed. Part of the line may have been written.</exception>
    public bool WriteTo(IBufferWriter<byte> output, long unixNanoseconds)
    {
        if (_fields.Count == 0)
        {
            return false;
        }

        WriteHeadTo(output);
        var separator = (byte)' ';
        foreach (var (key, value) in _fields)
        {
            LineProtocol.WriteByte(output, separator);
            LineProtocol.WriteKey(output, key, "field key");
            LineProtocol.WriteByte(output, (byte)'=');
            value.WriteTo(output);
            separator = (byte)',';
        }

        LineProtocol.WriteByte(output, (byte)' ');
        LineProtocol.WriteTimestamp(output, unixNanoseconds);
        LineProtocol.WriteByte(output, (byte)'\n');
        return true;
    }

    /// <summary>Measurement and tags only.</summary>
    /// <exception cref="LineProtocolException">A name or tag cannot be expressed.</exception>
    public void WriteHeadTo(IBufferWriter<byte> output)
    {
        LineProtocol.WriteMeasurement(output, _measurement);
        foreach (var (key, value) in _tags)
        {
            LineProtocol.WriteByte(output, (byte)',');
            LineProtocol.WriteKey(output, key, "tag key");
            LineProtocol.WriteByte(output, (byte)'=');
            LineProtocol.WriteKey(output, value, "tag value");
        }
    }

    private LinePoint Insert<T>(List<(string Key, T Value)> list, string key, T value)
    {
        var at = list.Count;
        while (at > 0 && string.CompareOrdinal(list[at - 1].Key, key) > 0)
        {
            at--;
        }

        list.Insert(at, (key, value));
        return this;
    }

    /// <summary>Text, or a float, or (with a NaN for the float) an integer.</summary>
    private readonly record struct FieldValue(double Float, long Integer, string? Text)
    {
        public void WriteTo(IBufferWriter<byte> output)
        {
            if (Text is not null)
            {
                LineProtocol.WriteText(output, Text);
            }
            else if (double.IsNaN(Float))
            {
                LineProtocol.WriteInteger(output, Integer);
            }
            else
            {
                LineProtocol.WriteFloat(output, Float);
            }
        }
    }
}
