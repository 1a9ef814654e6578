using System.Buffers;
using System.Buffers.Binary;
using System.Text;

namespace WashBridge.Protocols.OpcUa.Encoding;

/// <summary>Writes one element of an array.</summary>
public delegate void WriteElement<in T>(UaWriter writer, T element);

/// <summary>
/// Encodes into one growing buffer (OPC 10000-6, 5.2), which is kept for the next message. Not thread safe.
/// </summary>
/// <param name="maxLength">A longer message is refused with BadEncodingLimitsExceeded.</param>
public sealed partial class UaWriter(int maxLength = 16 * 1024 * 1024) : IDisposable
{
    private static readonly UTF8Encoding Utf8 = new(encoderShouldEmitUTF8Identifier: false, throwOnInvalidBytes: false);

    private byte[] buffer = ArrayPool<byte>.Shared.Rent(1024);

    /// <summary>Bytes written so far.</summary>
    public int Length { get; private set; }

    public ReadOnlySpan<byte> Written => buffer.AsSpan(0, Length);

    public ReadOnlyMemory<byte> WrittenMemory => buffer.AsMemory(0, Length);

    /// <summary>Begins anew, or goes back to an earlier <see cref="Length"/>.</summary>
    public void Truncate(int length = 0)
    {
        ArgumentOutOfRangeException.ThrowIfGreaterThan((uint)length, (uint)Length);
        Length = length;
    }

    /// <summary>Makes room for what is filled in later: a header, a length, a signature.</summary>
    public Span<byte> Reserve(int length)
    {
        Grow(length);
        var reserved = buffer.AsSpan(Length, length);
        reserved.Clear();
        Length += length;
        return reserved;
    }

    /// <summary>What was written, to fill in or transform in place.</summary>
    public Span<byte> Slice(int start, int length) => buffer.AsSpan(0, Length).Slice(start, length);

    public void WriteBoolean(bool value) => WriteByte(value ? (byte)1 : (byte)0);

    public void WriteSByte(sbyte value) => WriteByte((byte)value);

    public void WriteByte(byte value) => Take(1)[0] = value;

    public void WriteInt16(short value) => BinaryPrimitives.WriteInt16LittleEndian(Take(2), value);

    public void WriteUInt16(ushort value) => BinaryPrimitives.WriteUInt16LittleEndian(Take(2), value);

    public void WriteInt32(int value) => BinaryPrimitives.WriteInt32LittleEndian(Take(4), value);

    public void WriteUInt32(uint value) => BinaryPrimitives.WriteUInt32LittleEndian(Take(4), value);

    public void WriteInt64(long value) => BinaryPrimitives.WriteInt64LittleEndian(Take(8), value);

    public void WriteUInt64(ulong value) => BinaryPrimitives.WriteUInt64LittleEndian(Take(8), value);

    public void WriteSingle(float value) => BinaryPrimitives.WriteSingleLittleEndian(Take(4), value);

    public void WriteDouble(double value) => BinaryPrimitives.WriteDoubleLittleEndian(Take(8), value);

    public void WriteDateTime(DateTime value) => WriteInt64(UaTime.Encode(value));

    public void WriteStatusCode(StatusCode value) => WriteUInt32(value.Value);

    public void WriteGuid(Guid value) => value.TryWriteBytes(Take(16));

    public void WriteString(string? value)
    {
        if (value is null)
        {
            WriteInt32(-1);
            return;
        }

        var length = Utf8.GetByteCount(value);
        WriteInt32(length);
        Utf8.GetBytes(value, Take(length));
    }

    public void WriteByteString(byte[]? value)
    {
        if (value is null)
        {
            WriteInt32(-1);
            return;
        }

        WriteByteString(value.AsSpan());
    }

    public void WriteByteString(ReadOnlySpan<byte> value)
    {
        WriteInt32(value.Length);
        WriteBytes(value);
    }

    /// <summary>The bytes alone, without a length.</summary>
    public void WriteBytes(ReadOnlySpan<byte> value) => value.CopyTo(Take(value.Length));

    public void WriteXmlElement(XmlElement value) => WriteString(value.Xml);

    public void WriteQualifiedName(QualifiedName value)
    {
        WriteUInt16(value.Namespace);
        WriteString(value.Name);
    }

    public void WriteLocalizedText(LocalizedText value)
    {
        WriteByte((byte)((value.Locale is null ? 0 : 0x01) | (value.Text is null ? 0 : 0x02)));
        if (value.Locale is not null)
        {
            WriteString(value.Locale);
        }

        if (value.Text is not null)
        {
            WriteString(value.Text);
        }
    }

    public void WriteArray<T>(IReadOnlyList<T> elements, WriteElement<T> write)
    {
        WriteInt32(elements.Count);
        for (var i = 0; i < elements.Count; i++)
        {
            write(this, elements[i]);
        }
    }

    public void WriteArray<T>(IReadOnlyList<T> elements)
        where T : IStructure
    {
        WriteInt32(elements.Count);
        for (var i = 0; i < elements.Count; i++)
        {
            elements[i].Write(this);
        }
    }

    public void Dispose()
    {
        ArrayPool<byte>.Shared.Return(buffer);
        buffer = [];
        Length = 0;
    }

    private Span<byte> Take(int length)
    {
        Grow(length);
        var taken = buffer.AsSpan(Length, length);
        Length += length;
        return taken;
    }

    private void Grow(int more)
    {
        if (more <= buffer.Length - Length)
        {
            return;
        }

        if (more > maxLength - Length)
        {
            throw new UaException(StatusCodes.BadEncodingLimitsExceeded, $"the message would exceed {maxLength} bytes");
        }

        var larger = ArrayPool<byte>.Shared.Rent(Math.Max(Length + more, (int)Math.Min(2L * buffer.Length, maxLength)));
        Written.CopyTo(larger);
        ArrayPool<byte>.Shared.Return(buffer);
        buffer = larger;
    }
}
