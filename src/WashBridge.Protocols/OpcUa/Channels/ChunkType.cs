using System.Buffers.Binary;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>The first three bytes of a chunk, as a number with the first byte lowest (OPC 10000-6, 6.7.2.2 and 7.1.2.2).</summary>
internal enum ChunkType
{
    /// <summary>HEL</summary>
    Hello = 'H' | ('E' << 8) | ('L' << 16),

    /// <summary>ACK</summary>
    Acknowledge = 'A' | ('C' << 8) | ('K' << 16),

    /// <summary>ERR</summary>
    Error = 'E' | ('R' << 8) | ('R' << 16),

    /// <summary>RHE</summary>
    ReverseHello = 'R' | ('H' << 8) | ('E' << 16),

    /// <summary>OPN</summary>
    Open = 'O' | ('P' << 8) | ('N' << 16),

    /// <summary>MSG</summary>
    Message = 'M' | ('S' << 8) | ('G' << 16),

    /// <summary>CLO</summary>
    Close = 'C' | ('L' << 8) | ('O' << 16),
}

/// <summary>The first eight bytes of a chunk (OPC 10000-6, 6.7.2.2).</summary>
/// <param name="Final">F: the last one of its message, C: more follow, A: the message is aborted.</param>
/// <param name="Size">Of the chunk with this header, bytes.</param>
internal readonly record struct ChunkHeader(ChunkType Type, byte Final, uint Size)
{
    public const int Bytes = 8;

    public static ChunkHeader Read(ReadOnlySpan<byte> chunk)
    {
        var head = BinaryPrimitives.ReadUInt32LittleEndian(chunk);
        return new ChunkHeader((ChunkType)(head & 0xFF_FFFF), (byte)(head >> 24), BinaryPrimitives.ReadUInt32LittleEndian(chunk[4..]));
    }

    public void Write(Span<byte> chunk)
    {
        BinaryPrimitives.WriteUInt32LittleEndian(chunk, (uint)Type | ((uint)Final << 24));
        BinaryPrimitives.WriteUInt32LittleEndian(chunk[4..], Size);
    }

    /// <summary>What stands for a type in messages to people: its letters, or their numbers where they are none.</summary>
    public static string Name(ChunkType type)
    {
        var number = (int)type;
        var letters = new[] { (char)(number & 0xFF), (char)((number >> 8) & 0xFF), (char)(number >> 16) };
        return Array.TrueForAll(letters, char.IsAsciiLetterOrDigit) ? new string(letters) : $"0x{number:X6}";
    }
}
