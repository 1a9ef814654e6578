using System.Net.Sockets;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>
/// A connected socket as a stream whose reads block their thread. It is never registered for notifications unless the peer takes no more bytes: with
/// notifications each answer wakes a thread that looks who waits for it, and then another one, which costs more than a whole read of a node otherwise.
/// </summary>
internal sealed class SocketStream : Stream
{
    private readonly Socket socket;

    public SocketStream(Socket socket)
    {
        this.socket = socket;
        socket.Blocking = false;
    }

    public override bool CanRead => true;

    public override bool CanSeek => false;

    public override bool CanWrite => true;

    public override long Length => throw new NotSupportedException();

    public override long Position
    {
        get => throw new NotSupportedException();
        set => throw new NotSupportedException();
    }

    /// <summary>Blocks until there is something to read, or the time has passed.</summary>
    /// <param name="wait">Microseconds; negative: for ever.</param>
    /// <returns>Bytes read; 0: the end; -1: nothing has come.</returns>
    /// <exception cref="IOException">The connection is lost.</exception>
    public int Receive(Span<byte> buffer, int wait)
    {
        try
        {
            while (true)
            {
                if (!socket.Poll(wait, SelectMode.SelectRead))
                {
                    return -1;
                }

                var count = socket.Receive(buffer, SocketFlags.None, out var error);
                if (error == SocketError.Success)
                {
                    return count;
                }

                if (error != SocketError.WouldBlock)
                {
                    throw new SocketException((int)error);
                }
            }
        }
        catch (SocketException e)
        {
            throw new IOException(e.Message, e);
        }
    }

    /// <summary>Wakes whoever is blocked in a read, which then finds the end.</summary>
    public void Shutdown()
    {
        try
        {
            socket.Shutdown(SocketShutdown.Both);
        }
        catch (Exception e) when (e is SocketException or ObjectDisposedException)
        {
            // Not connected any more: then nobody is blocked.
        }
    }

    /// <summary>Blocks, although it looks asynchronous. Disposing of the stream ends it.</summary>
    public override ValueTask<int> ReadAsync(Memory<byte> buffer, CancellationToken cancellationToken = default) => new(Receive(buffer.Span, -1));

    /// <summary>Does not block.</summary>
    public override ValueTask WriteAsync(ReadOnlyMemory<byte> buffer, CancellationToken cancellationToken = default)
    {
        while (!buffer.IsEmpty)
        {
            var sent = socket.Send(buffer.Span, SocketFlags.None, out var error);
            if (error == SocketError.WouldBlock)
            {
                return SendRestAsync(buffer, cancellationToken);
            }

            if (error != SocketError.Success)
            {
                return ValueTask.FromException(new IOException(new SocketException((int)error).Message));
            }

            buffer = buffer[sent..];
        }

        return ValueTask.CompletedTask;
    }

    public override void Flush()
    {
    }

    public override int Read(byte[] buffer, int offset, int count) => Receive(buffer.AsSpan(offset, count), -1);

    public override long Seek(long offset, SeekOrigin origin) => throw new NotSupportedException();

    public override void SetLength(long value) => throw new NotSupportedException();

    public override void Write(byte[] buffer, int offset, int count) => throw new NotSupportedException();

    protected override void Dispose(bool disposing)
    {
        socket.Dispose();
        base.Dispose(disposing);
    }

    private async ValueTask SendRestAsync(ReadOnlyMemory<byte> rest, CancellationToken cancellation)
    {
        try
        {
            while (!rest.IsEmpty)
            {
                rest = rest[await socket.SendAsync(rest, SocketFlags.None, cancellation)..];
            }
        }
        catch (SocketException e)
        {
            throw new IOException(e.Message, e);
        }
    }
}
