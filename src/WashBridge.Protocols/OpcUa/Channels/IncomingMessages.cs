using System.Buffers;
using System.Buffers.Binary;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>A message whose chunks have all come and are genuine.</summary>
internal readonly ref struct IncomingMessage
{
    public required ChunkType Type { get; init; }

    public required uint Request { get; init; }

    /// <summary>Valid until more is received.</summary>
    public required ReadOnlySpan<byte> Body { get; init; }

    /// <summary>Stamp of its first byte.</summary>
    public required long Received { get; init; }

    /// <summary>The sender gave the message up: the body is an error and its reason.</summary>
    public bool IsAborted { get; init; }
}

/// <summary>Checks the chunks of an open channel in the order of OPC 10000-6, 6.7.6 and puts messages together. Not thread safe.</summary>
internal sealed class IncomingMessages(ChannelSecurity security, TransportLimits limits, TimeProvider time) : IDisposable
{
    /// <summary>More than this is not kept for the next long message.</summary>
    private const int KeptBytes = 256 * 1024;

    private ChannelToken? current;
    private ChannelToken? previous;
    private uint? lastSequence;

    private byte[] collected = [];
    private int collectedBytes;
    private int collectedChunks;
    private uint collectedFor;
    private long collectedSince;

    public uint ChannelId { get; set; }

    /// <summary>A chunk under the current token has come: the peer has it.</summary>
    public bool IsCurrentTokenInUse { get; private set; }

    /// <summary>The token before stays good until it has expired (OPC 10000-4, 5.6.2.1), as answers may still be on their way under it.</summary>
    public void Use(ChannelToken token)
    {
        previous?.Receive?.Dispose();
        previous = current;
        current = token;
        IsCurrentTokenInUse = false;
    }

    /// <summary>Of any chunk, whatever protects it.</summary>
    /// <exception cref="UaException">BadSequenceNumberInvalid.</exception>
    public void CheckSequence(uint sequence)
    {
        if (lastSequence is { } last && !SequenceNumbers.IsNext(last, sequence))
        {
            throw new UaException(StatusCodes.BadSequenceNumberInvalid, $"chunk number {sequence} after {last}");
        }

        lastSequence = sequence;
    }

    /// <summary>Takes a MSG or CLO chunk.</summary>
    /// <returns>Whether a message is complete.</returns>
    /// <exception cref="UaException">The channel must be closed with this status.</exception>
    public bool TryTake(ChunkHeader header, Span<byte> chunk, long received, out IncomingMessage message)
    {
        message = default;
        if (chunk.Length < SymmetricChunk.BodyAt)
        {
            throw new UaException(StatusCodes.BadTcpMessageTypeInvalid, $"a chunk of {chunk.Length} bytes; the least is {SymmetricChunk.BodyAt}");
        }

        var channel = BinaryPrimitives.ReadUInt32LittleEndian(chunk[SymmetricChunk.ChannelIdAt..]);
        if (channel != ChannelId)
        {
            throw new UaException(StatusCodes.BadTcpSecureChannelUnknown, $"a chunk for channel {channel} instead of {ChannelId}");
        }

        var end = SymmetricChunk.Open(chunk, security, FindToken(BinaryPrimitives.ReadUInt32LittleEndian(chunk[SymmetricChunk.TokenIdAt..])));
        CheckSequence(BinaryPrimitives.ReadUInt32LittleEndian(chunk[SymmetricChunk.SequenceAt..]));
        var request = BinaryPrimitives.ReadUInt32LittleEndian(chunk[SymmetricChunk.RequestIdAt..]);
        var body = chunk[SymmetricChunk.BodyAt..end];
        if (collectedChunks > 0 && request != collectedFor)
        {
            throw new UaException(StatusCodes.BadTcpMessageTypeInvalid, $"a chunk of message {request} amid those of message {collectedFor}");
        }

        switch (header.Final)
        {
            case (byte)'F' when collectedChunks == 0:
                CheckSize(body.Length, 1);
                message = new IncomingMessage { Type = header.Type, Request = request, Body = body, Received = received };
                return true;
            case (byte)'F' when header.Type == ChunkType.Message:
                Collect(body, request, received);
                message = new IncomingMessage { Type = header.Type, Request = request, Body = collected.AsSpan(0, collectedBytes), Received = collectedSince };
                Forget();
                return true;
            case (byte)'C' when header.Type == ChunkType.Message:
                Collect(body, request, received);
                return false;
            case (byte)'A' when header.Type == ChunkType.Message:
                message = new IncomingMessage { Type = header.Type, Request = request, Body = body, Received = received, IsAborted = true };
                Forget();
                return true;
            default:
                throw new UaException(StatusCodes.BadTcpMessageTypeInvalid, $"a {ChunkHeader.Name(header.Type)} chunk marked 0x{header.Final:X2}; allowed: F, and with MSG also C and A");
        }
    }

    /// <summary>The memory of a long message is given back once the next one is looked for.</summary>
    public void ReleaseLongMessage()
    {
        if (collectedChunks == 0 && collected.Length > KeptBytes)
        {
            ArrayPool<byte>.Shared.Return(collected);
            collected = [];
        }
    }

    public void Dispose()
    {
        if (collected.Length > 0)
        {
            ArrayPool<byte>.Shared.Return(collected);
            collected = [];
        }

        current?.Receive?.Dispose();
        previous?.Receive?.Dispose();
        current = previous = null;
    }

    private ChannelToken FindToken(uint id)
    {
        if (current is { } token && token.Id == id)
        {
            IsCurrentTokenInUse = true;
            return Fresh(token);
        }

        return previous is { } old && old.Id == id
            ? Fresh(old)
            : throw new UaException(StatusCodes.BadSecureChannelTokenUnknown, $"a chunk under token {id}; known: {current?.Id}");
    }

    private ChannelToken Fresh(ChannelToken token) => time.GetElapsedTime(token.Created) <= token.AcceptedFor
        ? token
        : throw new UaException(StatusCodes.BadSecureChannelTokenUnknown, $"a chunk under token {token.Id}, which has expired");

    private void Collect(ReadOnlySpan<byte> body, uint request, long received)
    {
        if (collectedChunks == 0)
        {
            (collectedBytes, collectedFor, collectedSince) = (0, request, received);
        }

        CheckSize((long)collectedBytes + body.Length, collectedChunks + 1);
        if (collected.Length - collectedBytes < body.Length)
        {
            // Only what has come is paid for, at most twice.
            var larger = ArrayPool<byte>.Shared.Rent(Math.Max(collectedBytes + body.Length, 2 * collected.Length));
            collected.AsSpan(0, collectedBytes).CopyTo(larger);
            if (collected.Length > 0)
            {
                ArrayPool<byte>.Shared.Return(collected);
            }

            collected = larger;
        }

        body.CopyTo(collected.AsSpan(collectedBytes));
        collectedBytes += body.Length;
        collectedChunks++;
    }

    private void CheckSize(long bytes, int chunks)
    {
        if (bytes > limits.MaxMessageSize || chunks > limits.MaxChunkCount)
        {
            throw new UaException(
                StatusCodes.BadTcpMessageTooLarge,
                $"a message of at least {bytes} bytes in {chunks} chunks; at most {limits.MaxMessageSize} in {limits.MaxChunkCount} are accepted");
        }
    }

    private void Forget() => collectedChunks = 0;
}
