using System.Buffers;
using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>
/// Cuts messages into chunks, numbers and protects them. One message at a time: chunks of two messages must not mix (OPC 10000-6, 6.7.3).
/// </summary>
internal sealed class OutgoingMessages(ChannelSecurity security, int maxChunk, uint maxMessage, uint maxChunks)
{
    private readonly int maxBody = SymmetricChunk.MaxBody(security, maxChunk);

    public uint ChannelId { get; set; }

    public uint LastSequence { get; set; }

    /// <summary>The peer's, bytes; 0: no limit.</summary>
    public uint MaxMessage => maxMessage;

    /// <summary>A message is written with this room in front, so that it can be sent from where it is.</summary>
    public static void Begin(UaWriter message)
    {
        message.Truncate();
        message.Reserve(SymmetricChunk.BodyAt);
    }

    /// <returns>What the peer does not accept about the message; null if it may be sent.</returns>
    public string? FindExcess(UaWriter message)
    {
        var body = message.Length - SymmetricChunk.BodyAt;
        if (maxMessage != 0 && body > maxMessage)
        {
            return $"a message of {body} bytes; the peer accepts {maxMessage}";
        }

        var chunks = (body + maxBody - 1) / maxBody;
        return maxChunks != 0 && chunks > maxChunks ? $"a message of {body} bytes in {chunks} chunks; the peer accepts {maxChunks}" : null;
    }

    public bool FitsOneChunk(UaWriter message) => message.Length - SymmetricChunk.BodyAt <= maxBody;

    /// <summary>Protects the whole message in place: one chunk, ready to be sent.</summary>
    public ReadOnlyMemory<byte> Seal(UaWriter message, ChannelToken token, ChunkType type, uint request)
    {
        var body = message.Length - SymmetricChunk.BodyAt;
        message.Reserve(SymmetricChunk.TrailerBytes(security, body));
        Seal(message.Slice(0, message.Length), body, token, type, (byte)'F', request);
        return message.WrittenMemory;
    }

    /// <summary>Protects the next piece of a message that needs several chunks.</summary>
    /// <param name="sent">Bytes of the body that have been sealed.</param>
    /// <param name="chunk">From the pool; given back by the caller.</param>
    /// <returns>Bytes of the chunk.</returns>
    public int SealNext(UaWriter message, ref int sent, ChannelToken token, uint request, Span<byte> chunk)
    {
        var rest = message.Written[(SymmetricChunk.BodyAt + sent)..];
        var body = Math.Min(rest.Length, maxBody);
        rest[..body].CopyTo(chunk[SymmetricChunk.BodyAt..]);
        var size = SymmetricChunk.BodyAt + body + SymmetricChunk.TrailerBytes(security, body);
        Seal(chunk[..size], body, token, ChunkType.Message, body == rest.Length ? (byte)'F' : (byte)'C', request);
        sent += body;
        return size;
    }

    public byte[] RentChunk() => ArrayPool<byte>.Shared.Rent(maxChunk);

    /// <summary>The number of the next chunk, whoever sends it.</summary>
    public uint NextSequence() => LastSequence = SequenceNumbers.Next(LastSequence);

    private void Seal(Span<byte> chunk, int body, ChannelToken token, ChunkType type, byte final, uint request) =>
        SymmetricChunk.Seal(chunk, body, security, token, new ChunkHeader(type, final, (uint)chunk.Length), ChannelId, NextSequence(), request);
}
