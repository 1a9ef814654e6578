using System.Buffers.Binary;
using System.Runtime.CompilerServices;

namespace WashBridge.Historian.Encoding;

/// <summary>What is stored contradicts itself: reported as damage, never a crash.</summary>
internal sealed class DamagedException(string problem) : Exception(problem);

/// <summary>Reads what <see cref="ByteWriter"/> wrote. Every length is checked before it is used.</summary>
internal ref struct ByteReader(ReadOnlySpan<byte> bytes)
{
    private readonly ReadOnlySpan<byte> _bytes = bytes;
    private int _at;

    public readonly int Position => _at;

    public readonly int Left => _bytes.Length - _at;

    public readonly bool AtEnd => _at == _bytes.Length;

    public byte Byte() => _at < _bytes.Length ? _bytes[_at++] : throw Short();

    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public ulong Varint()
    {
        if ((uint)_at < (uint)_bytes.Length && _bytes[_at] < 0x80)
        {
            return _bytes[_at++];
        }

        return LongVarint();
    }

    /// <summary>A count or an index below or equal to <paramref name="most"/>.</summary>
    public int Count(int most)
    {
        var value = Varint();
        return value <= (ulong)most ? (int)value : throw new DamagedException($"a count of {value} where at most {most} can be");
    }

    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public long Zigzag()
    {
        var value = Varint();
        return (long)(value >> 1) ^ -(long)(value & 1);
    }

    public ulong Fixed64() => BinaryPrimitives.ReadUInt64LittleEndian(Raw(8));

    public uint Fixed32() => BinaryPrimitives.ReadUInt32LittleEndian(Raw(4));

    public ReadOnlySpan<byte> Raw(int length)
    {
        if ((uint)length > (uint)Left)
        {
            throw Short();
        }

        var span = _bytes.Slice(_at, length);
        _at += length;
        return span;
    }

    public string Text()
    {
        var head = Varint();
        var length = head >> 1;
        if ((head & 1) == 0)
        {
            return System.Text.Encoding.UTF8.GetString(Raw((int)Math.Min(length, int.MaxValue)));
        }

        var units = Raw((int)Math.Min(length * 2, int.MaxValue));
        return string.Create(units.Length / 2, units, static (text, from) =>
        {
            for (var i = 0; i < text.Length; i++)
            {
                text[i] = (char)BinaryPrimitives.ReadUInt16LittleEndian(from[(2 * i)..]);
            }
        });
    }

    private static DamagedException Short() => new("the data ends too early");

    private ulong LongVarint()
    {
        ulong value = 0;
        for (var shift = 0; shift < 64; shift += 7)
        {
            var next = Byte();
            value |= (ulong)(next & 0x7F) << shift;
            if (next < 0x80)
            {
                return value;
            }
        }

        throw new DamagedException("a number longer than 64 bits");
    }
}
