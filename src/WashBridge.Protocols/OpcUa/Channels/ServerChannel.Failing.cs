using System.Net.Sockets;
using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <content>The one way a channel ends, and what the client is told of it.</content>
public sealed partial class ServerChannel
{
    /// <summary>So long, and up to so many bytes, a client that was sent away may go on talking until it has read why.</summary>
    private static readonly TimeSpan Farewell = TimeSpan.FromSeconds(1);
    private const int FarewellBytes = 256 * 1024;

    private readonly ITimer expiry;
    private int isStopped;

    private void Expire() => Break(new UaException(StatusCodes.BadSecureChannelTokenUnknown, "the client did not renew its token before it expired"));

    private void ThrowIfBroken()
    {
        if (Volatile.Read(ref isBroken) != 0)
        {
            var reason = closed.Task.IsCompletedSuccessfully ? closed.Task.Result : null;
            throw new UaException(reason?.Status ?? StatusCodes.BadConnectionClosed, $"no connection: {reason?.Message ?? "closed"}", reason);
        }
    }

    private async ValueTask BreakAsync(UaException reason, bool isToBeTold, bool isExpected = false)
    {
        if (isToBeTold && Volatile.Read(ref isBroken) == 0)
        {
            await TellAsync(reason);
        }

        Break(reason, isExpected);
    }

    private void Break(UaException reason, bool isExpected = false)
    {
        if (Interlocked.Exchange(ref isBroken, 1) != 0)
        {
            return;
        }

        closed.TrySetResult(reason);
        expiry.Dispose();
        stream.Dispose();
        if (outgoing is null)
        {
            return;
        }

        if (isExpected)
        {
            Log.Closed(logger, peer, ChannelId);
        }
        else
        {
            Log.Broken(logger, peer, ChannelId, reason.Message);
        }
    }

    /// <summary>An error message (OPC 10000-6, 7.1.5). A connection that is closed with unread bytes is reset, and the error lost: so a little is read before.</summary>
    private async Task TellAsync(UaException reason)
    {
        using var enough = new CancellationTokenSource(Farewell, time);
        try
        {
            await sendGate.WaitAsync(enough.Token);
            try
            {
                using var writer = new UaWriter();
                PeerErrors.Of(reason).Write(writer);
                await stream.WriteAsync(writer.WrittenMemory, enough.Token);
            }
            finally
            {
                sendGate.Release();
            }

            if (stream is not NetworkStream network)
            {
                return;
            }

            network.Socket.Shutdown(SocketShutdown.Send);
            var rest = new byte[4096];
            for (int read = 0, count; read < FarewellBytes && (count = await network.ReadAsync(rest, enough.Token)) > 0;)
            {
                read += count;
            }
        }
        catch (Exception e) when (e is IOException or ObjectDisposedException or OperationCanceledException or SocketException)
        {
            // It will not be told, then.
        }
    }
}
