using System.Buffers;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>
/// Bytes as they come, and the chunks among them. One buffer from the pool, as large as the largest chunk that is allowed. Not thread safe.
/// </summary>
internal sealed class ReceiveBuffer(int maxChunk) : IDisposable
{
    private byte[] buffer = ArrayPool<byte>.Shared.Rent(maxChunk);
    private int start;
    private int end;
    private long firstByte;
    private long lastByte;

    public int MaxChunk { get; private set; } = maxChunk;

    /// <summary>Where the next bytes go; never empty.</summary>
    public Memory<byte> Free()
    {
        if (start == end)
        {
            start = end = 0;
        }
        else if (start > 0)
        {
            buffer.AsSpan(start, end - start).CopyTo(buffer);
            end -= start;
            start = 0;
        }

        return buffer.AsMemory(end);
    }

    /// <param name="now">Stamp of the TimeProvider.</param>
    public void Received(int count, long now)
    {
        firstByte = start == end ? now : firstByte;
        lastByte = now;
        end += count;
    }

    /// <summary>Allows larger or smaller chunks from now on. What has come already is kept.</summary>
    public void Resize(int size)
    {
        MaxChunk = size;
        if (buffer.Length < size)
        {
            var larger = ArrayPool<byte>.Shared.Rent(size);
            buffer.AsSpan(start, end - start).CopyTo(larger);
            ArrayPool<byte>.Shared.Return(buffer);
            (buffer, start, end) = (larger, 0, end - start);
        }
    }

    /// <summary>The next whole chunk, to be worked on in place until the next call of <see cref="Free"/>.</summary>
    /// <param name="received">Stamp of its first byte.</param>
    /// <exception cref="UaException">BadTcpMessageTooLarge, BadTcpMessageTypeInvalid: from here on the stream cannot be understood.</exception>
    public bool TryTake(out ChunkHeader header, out Span<byte> chunk, out long received)
    {
        chunk = default;
        header = default;
        received = firstByte;
        var there = end - start;
        if (there < ChunkHeader.Bytes)
        {
            return false;
        }

        header = ChunkHeader.Read(buffer.AsSpan(start));
        if (!Enum.IsDefined(header.Type))
        {
            throw new UaException(StatusCodes.BadTcpMessageTypeInvalid, $"a chunk of type {ChunkHeader.Name(header.Type)}");
        }

        if (header.Size > MaxChunk)
        {
            throw new UaException(StatusCodes.BadTcpMessageTooLarge, $"a chunk of {header.Size} bytes; at most {MaxChunk} were agreed on");
        }

        if (header.Size < ChunkHeader.Bytes)
        {
            throw new UaException(StatusCodes.BadTcpMessageTypeInvalid, $"a chunk of {header.Size} bytes; its header alone has {ChunkHeader.Bytes}");
        }

        if (there < header.Size)
        {
            return false;
        }

        chunk = buffer.AsSpan(start, (int)header.Size);
        start += (int)header.Size;
        firstByte = lastByte;
        return true;
    }

    /// <summary>Only once nothing is being received any more.</summary>
    public void Dispose()
    {
        ArrayPool<byte>.Shared.Return(buffer);
        buffer = [];
        start = end = 0;
    }
}
