using System.Net.Sockets;

namespace WashBridge.Protocols.Modbus;

/// <summary>One client of the server: takes requests as they come, answers all that are complete in one piece.</summary>
internal sealed class ServerConnection(Socket socket, RequestHandler handler, Func<TimeSpan>? replyDelay, TimeProvider time, CancellationToken stop)
{
    private readonly FrameBuffer incoming = new(minimumPdu: 1);
    private readonly byte[] outgoing = new byte[16 * Mbap.MaxAdu];
    private string? reason;
    private long lastRequest = time.GetTimestamp();

    public string Peer { get; } = socket.RemoteEndPoint?.ToString() ?? "unknown";

    public Task Running { get; private set; } = Task.CompletedTask;

    /// <summary>Timestamp of the last complete request, or of the connection.</summary>
    public long LastRequest => Interlocked.Read(ref lastRequest);

    /// <summary>Why it ended: the first cause.</summary>
    public string Reason => reason ?? "still open";

    public void Start(Action<ServerConnection> ended) => Running = Task.Run(async () =>
    {
        await ServeAsync();
        ended(this);
    });

    public void Close(string why)
    {
        Interlocked.CompareExchange(ref reason, why, null);
        socket.Dispose();
    }

    private async Task ServeAsync()
    {
        try
        {
            while (true)
            {
                var count = await socket.ReceiveAsync(incoming.Free(), SocketFlags.None);
                if (count == 0)
                {
                    Close("closed by the client");
                    return;
                }

                incoming.Received(count);
                bool isMore;
                do
                {
                    var length = AnswerAll(out isMore, out var lost);
                    if (length > 0 && replyDelay?.Invoke() is { Ticks: > 0 } delay)
                    {
                        await Task.Delay(delay, time, stop);
                    }

                    for (var sent = 0; sent < length;)
                    {
                        sent += await socket.SendAsync(outgoing.AsMemory(sent, length - sent), SocketFlags.None);
                    }

                    if (lost is not null)
                    {
                        Close(lost);
                        return;
                    }
                }
                while (isMore);
            }
        }
        catch (Exception e) when (e is SocketException or ObjectDisposedException or OperationCanceledException)
        {
            Close(e.Message);
        }
    }

    /// <summary>Answers complete requests until none is left or the answers fill the buffer.</summary>
    private int AnswerAll(out bool isMore, out string? lost)
    {
        var length = 0;
        lost = null;
        isMore = true;
        while (outgoing.Length - length >= Mbap.MaxAdu)
        {
            var state = incoming.TryTake(out var header, out var request, out var reason);
            if (state != FrameState.Complete)
            {
                lost = state == FrameState.Lost ? reason : null;
                isMore = false;
                break;
            }

            Interlocked.Exchange(ref lastRequest, time.GetTimestamp());
            var reply = outgoing.AsSpan(length);
            var pduLength = handler.Answer(header.Unit, request, reply[Mbap.Size..]);
            Mbap.Write(reply, header.Transaction, header.Unit, pduLength);
            length += Mbap.Size + pduLength;
        }

        return length;
    }
}
