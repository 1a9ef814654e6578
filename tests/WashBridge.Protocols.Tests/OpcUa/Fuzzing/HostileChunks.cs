using WashBridge.Protocols.OpcUa.Channels;

namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>
/// Chunks of an open channel from a peer that has the keys but does not keep to the rules: mutated bodies in genuine chunks, genuine chunks with
/// wrong headers, and chunks that were changed on their way.
/// </summary>
internal sealed class HostileChunks(Random random, ChannelSecurity security, ChannelToken token, uint channel)
{
    private const int MaxBody = 4096;
    private static readonly ChunkType[] Types = Enum.GetValues<ChunkType>();

    private readonly Mutator mutator = new(random);
    private uint sequence;

    /// <summary>The number of the last chunk sent.</summary>
    public uint Sequence
    {
        get => sequence;
        set => sequence = value;
    }

    /// <summary>A message under the rules.</summary>
    public IEnumerable<byte[]> Genuine(byte[] body, uint request)
    {
        for (var at = 0; at == 0 || at < body.Length; at += MaxBody)
        {
            var isLast = body.Length - at <= MaxBody;
            yield return Seal(body.AsSpan(at, Math.Min(MaxBody, body.Length - at)), ChunkType.Message, isLast ? (byte)'F' : (byte)'C', channel, token, ++sequence, request);
        }
    }

    /// <summary>Against the rules in one way or another.</summary>
    public IEnumerable<byte[]> Hostile(byte[] body, uint request)
    {
        byte[][] chunks = [.. Genuine(body, request)];
        var at = random.Next(chunks.Length);
        switch (random.Next(6))
        {
            case 0:
                return [.. chunks, chunks[at]];
            case 1:
                return [.. chunks.Where((_, i) => i != at), Seal(body.AsSpan(0, Math.Min(MaxBody, body.Length)), ChunkType.Message, (byte)'F', channel, token, (uint)random.NextInt64(), request)];
            case 2:
                var (type, final) = (Types[random.Next(Types.Length)], random.Next(3) == 0 ? (byte)random.Next(256) : "FCA"u8[random.Next(3)]);
                return [Seal(body.AsSpan(0, Math.Min(MaxBody, body.Length)), type, final, channel, token, ++sequence, request)];
            case 3:
                return [Seal([], ChunkType.Message, (byte)'C', channel, token, ++sequence, request), .. chunks];
            case 4:
                return [Seal(body.AsSpan(0, Math.Min(MaxBody, body.Length)), ChunkType.Message, (byte)'F', random.Next(2) == 0 ? channel : (uint)random.NextInt64(), token with { Id = (uint)random.Next(8) }, ++sequence, (uint)random.NextInt64())];
            default:
                return Enumerable.Repeat((byte)0, random.Next(1, 400)).Select(_ => Seal([], ChunkType.Message, (byte)'C', channel, token, ++sequence, request));
        }
    }

    /// <summary>One of the chunks of a genuine message was changed on its way.</summary>
    public IEnumerable<byte[]> Tampered(byte[] body, uint request)
    {
        byte[][] chunks = [.. Genuine(body, request)];
        var at = random.Next(chunks.Length);
        chunks[at] = mutator.Mutate(chunks[at], chunks[0]);
        return chunks;
    }

    /// <summary>All bytes of the chunks, cut anywhere.</summary>
    public IEnumerable<byte[]> Cut(IEnumerable<byte[]> chunks)
    {
        byte[] all = [.. chunks.SelectMany(chunk => chunk)];
        for (var at = 0; at < all.Length;)
        {
            var piece = random.Next(4) == 0 ? random.Next(1, 40) : all.Length;
            yield return all[at..Math.Min(all.Length, at + piece)];
            at += piece;
        }
    }

    /// <summary>A genuine chunk of a message.</summary>
    public byte[] One(ReadOnlySpan<byte> body, byte final, uint request) => Seal(body, ChunkType.Message, final, channel, token, ++sequence, request);

    private byte[] Seal(ReadOnlySpan<byte> body, ChunkType type, byte final, uint channelId, ChannelToken under, uint number, uint request)
    {
        var chunk = new byte[SymmetricChunk.BodyAt + body.Length + SymmetricChunk.TrailerBytes(security, body.Length)];
        body.CopyTo(chunk.AsSpan(SymmetricChunk.BodyAt));
        SymmetricChunk.Seal(chunk, body.Length, security, under, new ChunkHeader(type, final, (uint)chunk.Length), channelId, number, request);
        return chunk;
    }
}
