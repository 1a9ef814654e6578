using System.Threading.Tasks.Sources;

namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>
/// One end of a connection in memory, without threads: whatever waits for bytes runs on within <see cref="Push"/>, on the thread that pushes.
/// </summary>
internal sealed class MemoryLine : Stream, IValueTaskSource<int>
{
    private ManualResetValueTaskSourceCore<int> source = new() { RunContinuationsAsynchronously = false };
    private readonly Queue<byte[]> waiting = new();
    private ReadOnlyMemory<byte> rest;
    private Memory<byte> wanted;
    private bool isRead;
    private bool isEnded;

    /// <summary>What the other end wrote since the last look.</summary>
    public List<byte[]> Written { get; } = [];

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

    public void Push(byte[] bytes)
    {
        if (bytes.Length == 0)
        {
            return;
        }

        waiting.Enqueue(bytes);
        Serve();
    }

    /// <summary>No more will come.</summary>
    public void End()
    {
        isEnded = true;
        Serve();
    }

    public override ValueTask<int> ReadAsync(Memory<byte> buffer, CancellationToken cancellationToken = default)
    {
        ObjectDisposedException.ThrowIf(IsDisposed, this);
        if (TryTake(buffer.Span, out var count))
        {
            return ValueTask.FromResult(count);
        }

        source.Reset();
        (wanted, isRead) = (buffer, true);
        return new ValueTask<int>(this, source.Version);
    }

    public override ValueTask WriteAsync(ReadOnlyMemory<byte> buffer, CancellationToken cancellationToken = default)
    {
        ObjectDisposedException.ThrowIf(IsDisposed, this);
        Written.Add(buffer.ToArray());
        return ValueTask.CompletedTask;
    }

    public override void Flush()
    {
    }

    public override int Read(byte[] buffer, int offset, int count) => throw new NotSupportedException();

    public override long Seek(long offset, SeekOrigin origin) => throw new NotSupportedException();

    public override void SetLength(long value) => throw new NotSupportedException();

    public override void Write(byte[] buffer, int offset, int count) => throw new NotSupportedException();

    int IValueTaskSource<int>.GetResult(short token) => source.GetResult(token);

    ValueTaskSourceStatus IValueTaskSource<int>.GetStatus(short token) => source.GetStatus(token);

    void IValueTaskSource<int>.OnCompleted(Action<object?> continuation, object? state, short token, ValueTaskSourceOnCompletedFlags flags) =>
        source.OnCompleted(continuation, state, token, flags);

    protected override void Dispose(bool disposing)
    {
        IsDisposed = true;
        if (isRead)
        {
            isRead = false;
            source.SetException(new ObjectDisposedException(nameof(MemoryLine)));
        }

        base.Dispose(disposing);
    }

    private void Serve()
    {
        if (isRead && TryTake(wanted.Span, out var count))
        {
            isRead = false;
            source.SetResult(count);
        }
    }

    private bool TryTake(Span<byte> buffer, out int count)
    {
        if (rest.IsEmpty && waiting.TryDequeue(out var next))
        {
            rest = next;
        }

        count = Math.Min(rest.Length, buffer.Length);
        rest.Span[..count].CopyTo(buffer);
        rest = rest[count..];
        return count > 0 || isEnded;
    }
}
