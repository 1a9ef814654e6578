using ZstdSharp;

namespace WashBridge.Historian.Encoding;

/// <summary>
/// Compresses and checks the pieces of a segment (FORMAT.md, "Packed pieces"): method, raw length, content, checksum.
/// An instance belongs to one thread at a time.
/// </summary>
internal sealed class Packing(int level) : IDisposable
{
    public const byte Stored = 0;
    public const byte Zstandard = 1;

    private readonly Compressor _compressor = new(level);

    /// <summary>Appends the packed <paramref name="content"/> to <paramref name="target"/>.</summary>
    public void Pack(ReadOnlySpan<byte> content, ByteWriter target)
    {
        var start = target.Length;
        target.Byte(Zstandard);
        target.Varint(content.Length);
        var room = target.Take(Compressor.GetCompressBound(content.Length));
        var packed = _compressor.Wrap(content, room);
        target.GiveBack(room.Length - packed);
        if (packed >= content.Length)
        {
            target.GiveBack(target.Length - start);
            target.Byte(Stored);
            target.Varint(content.Length);
            target.Raw(content);
        }

        target.Fixed64((ulong)Checksum.Of(target.Written[start..]));
    }

    public void Dispose() => _compressor.Dispose();
}
