using System.Buffers.Binary;
using System.IO.Hashing;

namespace WashBridge.Historian.Encoding;

/// <summary>XXH3 (64 bit, seed 0) in the last eight bytes of a blob.</summary>
internal static class Checksum
{
    public const int Size = 8;

    public static void Append(ByteWriter writer) => writer.Fixed64(XxHash3.HashToUInt64(writer.Written));

    public static long Of(ReadOnlySpan<byte> bytes) => (long)XxHash3.HashToUInt64(bytes);

    /// <summary>The blob without its checksum, or an exception if the two do not belong together.</summary>
    public static ReadOnlySpan<byte> Strip(ReadOnlySpan<byte> blob)
    {
        if (blob.Length < Size)
        {
            throw new DamagedException("the data ends too early");
        }

        var content = blob[..^Size];
        return XxHash3.HashToUInt64(content) == BinaryPrimitives.ReadUInt64LittleEndian(blob[^Size..])
            ? content
            : throw new DamagedException("the checksum does not match");
    }
}
