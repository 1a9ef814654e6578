using System.Threading.Channels;

namespace WashBridge.Protocols.Tests.OpcUa.Channels;

/// <summary>Two ends of a connection without a network: what one end writes, the other reads, in the pieces it was written in or smaller ones.</summary>
internal sealed class MemoryConnection
{
    private MemoryConnection(End client, End server) => (Client, Server) = (client, server);

    public End Client { get; }

    public End Server { get; }

    /// <param name="largestPiece">Most bytes that one read returns.</param>
    public static MemoryConnection Create(int largestPiece = int.MaxValue)
    {
        var toServer = Channel.CreateUnbounded<byte[]>();
        var toClient = Channel.CreateUnbounded<byte[]>();
        return new MemoryConnection(new End(toClient, toServer, largestPiece), new End(toServer, toClient, largestPiece));
    }

    internal sealed class End(Channel<byte[]> input, Channel<byte[]> output, int largestPiece) : Stream
    {
        private ReadOnlyMemory<byte> rest;
        private volatile bool isDisposed;

        public bool IsDisposed => isDisposed;

        /// <summary>While set, writes wait, as for a peer that takes nothing.</summary>
        public Task Stalled { get; set; } = Task.CompletedTask;

        /// <summary>Sees, and may change, what is written.</summary>
        public Func<byte[], byte[]>? Tamper { get; set; }

        public override bool CanRead => true;

        public override bool CanSeek => false;

        public override bool CanWrite => true;

        public override long Length => throw new NotSupportedException();

        public override long Position
        {
            get => throw new NotSupportedException();
            set => throw new NotSupportedException();
        }

        public override async ValueTask<int> ReadAsync(Memory<byte> buffer, CancellationToken cancellationToken = default)
        {
            if (rest.IsEmpty)
            {
                if (!await input.Reader.WaitToReadAsync(cancellationToken))
                {
                    return isDisposed ? throw new ObjectDisposedException(nameof(End)) : 0;
                }

                input.Reader.TryRead(out var piece);
                rest = piece;
            }

            var count = Math.Min(Math.Min(buffer.Length, rest.Length), largestPiece);
            rest[..count].CopyTo(buffer);
            rest = rest[count..];
            return count;
        }

        public override async ValueTask WriteAsync(ReadOnlyMemory<byte> buffer, CancellationToken cancellationToken = default)
        {
            var written = buffer.ToArray();
            await Stalled.WaitAsync(cancellationToken);
            ObjectDisposedException.ThrowIf(isDisposed, this);
            if (!output.Writer.TryWrite(Tamper is null ? written : Tamper(written)))
            {
                throw new IOException("the other end is closed");
            }
        }

        /// <summary>The next piece that the other end wrote, as it was written.</summary>
        public async Task<byte[]> ReadPieceAsync() => await input.Reader.ReadAsync(TestContext.Current.CancellationToken).AsTask().Soon();

        public override void Flush()
        {
        }

        public override int Read(byte[] buffer, int offset, int count) => throw new NotSupportedException();

        public override long Seek(long offset, SeekOrigin origin) => throw new NotSupportedException();

        public override void SetLength(long value) => throw new NotSupportedException();

        public override void Write(byte[] buffer, int offset, int count) => throw new NotSupportedException();

        protected override void Dispose(bool disposing)
        {
            isDisposed = true;
            output.Writer.TryComplete();
            input.Writer.TryComplete();
            base.Dispose(disposing);
        }
    }
}
