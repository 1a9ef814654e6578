using System.Threading.Channels;

namespace WashBridge.Protocols.Tests.Modbus;

/// <summary>A peer made of script: the test sees each write of the client and says what the client receives, piece by piece.</summary>
internal sealed class ScriptedStream : Stream
{
    private readonly Channel<byte[]> written = Channel.CreateUnbounded<byte[]>();
    private readonly Channel<byte[]> toRead = Channel.CreateUnbounded<byte[]>();
    private readonly Channel<int> cameBack = Channel.CreateUnbounded<int>();
    private ReadOnlyMemory<byte> rest;
    private int piecesTaken;

    public bool IsDisposed { get; private set; }

    public override bool CanRead => true;

    public override bool CanSeek => false;

    public override bool CanWrite => true;

    public override long Length => throw new NotSupportedException();

    public override long Position
    {
        get => throw new NotSupportedException();
        set => throw new NotSupportedException();
    }

    /// <summary>What the client wrote next, in one piece as it wrote it.</summary>
    public async Task<byte[]> WrittenAsync() => await written.Reader.ReadAsync(TestContext.Current.CancellationToken);

    public void Feed(ReadOnlySpan<byte> piece) => toRead.Writer.TryWrite(piece.ToArray());

    /// <summary>The client has dealt with so many pieces in all, and has come back for more.</summary>
    public async Task TakenAsync(int pieces)
    {
        while (await cameBack.Reader.ReadAsync(TestContext.Current.CancellationToken) < pieces)
        {
        }
    }

    /// <summary>The peer closes its side.</summary>
    public void End() => toRead.Writer.TryComplete();

    public override async ValueTask<int> ReadAsync(Memory<byte> buffer, CancellationToken cancellationToken = default)
    {
        if (rest.IsEmpty)
        {
            cameBack.Writer.TryWrite(piecesTaken);
            if (!await toRead.Reader.WaitToReadAsync(cancellationToken))
            {
                return IsDisposed ? throw new ObjectDisposedException(nameof(ScriptedStream)) : 0;
            }

            toRead.Reader.TryRead(out var piece);
            rest = piece;
            piecesTaken++;
        }

        var count = Math.Min(buffer.Length, rest.Length);
        rest[..count].CopyTo(buffer);
        rest = rest[count..];
        return count;
    }

    public override ValueTask WriteAsync(ReadOnlyMemory<byte> buffer, CancellationToken cancellationToken = default)
    {
        ObjectDisposedException.ThrowIf(IsDisposed, this);
        written.Writer.TryWrite(buffer.ToArray());
        return ValueTask.CompletedTask;
    }

    public override void Flush()
    {
    }

    public override int Read(byte[] buffer, int offset, int count) => throw new NotSupportedException();

    public override long Seek(long offset, SeekOrigin origin) => throw new NotSupportedException();

    public override void SetLength(long value) => throw new NotSupportedException();

    public override void Write(byte[] buffer, int offset, int count) => throw new NotSupportedException();

    protected override void Dispose(bool disposing)
    {
        IsDisposed = true;
        toRead.Writer.TryComplete();
        base.Dispose(disposing);
    }
}
