using System.Buffers.Binary;
using System.Text;

namespace WashBridge.Historian.Encoding;

/// <summary>A growing buffer with the number formats of FORMAT.md. Reused, so that encoding allocates nothing in the steady state.</summary>
internal sealed class ByteWriter(int capacity = 4096)
{
    private static readonly UTF8Encoding Strict = new(encoderShouldEmitUTF8Identifier: false, throwOnInvalidBytes: true);

    private byte[] _bytes = new byte[capacity];

    public int Length { get; private set; }

    public ReadOnlySpan<byte> Written => _bytes.AsSpan(0, Length);

    public void Clear() => Length = 0;

    public void Byte(byte value)
    {
        Ensure(1);
        _bytes[Length++] = value;
    }

    public void Varint(ulong value)
    {
        Ensure(10);
        var at = Length;
        while (value >= 0x80)
        {
            _bytes[at++] = (byte)(value | 0x80);
            value >>= 7;
        }

        _bytes[at++] = (byte)value;
        Length = at;
    }

    public void Varint(int value) => Varint((ulong)value);

    /// <summary>Small magnitudes of either sign take few bytes.</summary>
    public void Zigzag(long value) => Varint((ulong)((value << 1) ^ (value >> 63)));

    public void Fixed64(ulong value)
    {
        Ensure(8);
        BinaryPrimitives.WriteUInt64LittleEndian(_bytes.AsSpan(Length), value);
        Length += 8;
    }

    public void Fixed32(uint value)
    {
        Ensure(4);
        BinaryPrimitives.WriteUInt32LittleEndian(_bytes.AsSpan(Length), value);
        Length += 4;
    }

    public void Raw(ReadOnlySpan<byte> value) => value.CopyTo(Take(value.Length));

    /// <summary>The next <paramref name="length"/> bytes, for the caller to fill.</summary>
    public Span<byte> Take(int length)
    {
        Ensure(length);
        var span = _bytes.AsSpan(Length, length);
        Length += length;
        return span;
    }

    /// <summary>Gives back the last <paramref name="length"/> bytes taken.</summary>
    public void GiveBack(int length) => Length -= length;

    /// <summary>Text as UTF-8; text that is no valid UTF-16 keeps its code units, so that every string comes back as it was.</summary>
    public void Text(string text)
    {
        int length;
        try
        {
            length = Strict.GetByteCount(text);
        }
        catch (EncoderFallbackException)
        {
            Varint(((ulong)text.Length << 1) | 1);
            foreach (var unit in text)
            {
                BinaryPrimitives.WriteUInt16LittleEndian(Take(2), unit);
            }

            return;
        }

        Varint((ulong)length << 1);
        Strict.GetBytes(text, Take(length));
    }

    /// <summary>Leaves room for a length, written by <see cref="Close"/>.</summary>
    public int Open()
    {
        Take(4);
        return Length;
    }

    public void Close(int opened) => BinaryPrimitives.WriteUInt32LittleEndian(_bytes.AsSpan(opened - 4), (uint)(Length - opened));

    private void Ensure(int more)
    {
        if (_bytes.Length - Length < more)
        {
            Array.Resize(ref _bytes, Math.Max(_bytes.Length * 2, Length + more));
        }
    }
}
