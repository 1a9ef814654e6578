using ZstdSharp;

namespace WashBridge.Historian.Encoding;

/// <summary>Opens what <see cref="Packing"/> packed. The content is valid until the next call; an instance belongs to one thread at a time.</summary>
internal sealed class Unpacking : IDisposable
{
    /// <summary>No piece is larger unpacked; a length beyond is damage, and is refused before memory is taken for it.</summary>
    private const int MostRawBytes = 128 * 1024 * 1024;

    [ThreadStatic]
    private static Unpacking? _ofThread;

    private readonly Decompressor _decompressor = new();
    private byte[] _buffer = new byte[16 * 1024];

    /// <summary>The calling thread's own.</summary>
    public static Unpacking OfThread => _ofThread ??= new Unpacking();

    public ReadOnlySpan<byte> Open(ReadOnlySpan<byte> packed)
    {
        var reader = new ByteReader(Checksum.Strip(packed));
        var method = reader.Byte();
        var length = reader.Count(MostRawBytes);
        var content = reader.Raw(reader.Left);
        if (method == Packing.Stored)
        {
            return content.Length == length ? content : throw new DamagedException("a piece of another length than it says");
        }

        if (method != Packing.Zstandard)
        {
            throw new DamagedException($"packing method {method}");
        }

        if (_buffer.Length < length)
        {
            _buffer = new byte[length];
        }

        try
        {
            return _decompressor.Unwrap(content, _buffer.AsSpan(0, length)) == length
                ? _buffer.AsSpan(0, length)
                : throw new DamagedException("a piece of another length than it says");
        }
        catch (ZstdException e)
        {
            throw new DamagedException($"cannot be unpacked: {e.Message}");
        }
    }

    public void Dispose() => _decompressor.Dispose();
}
