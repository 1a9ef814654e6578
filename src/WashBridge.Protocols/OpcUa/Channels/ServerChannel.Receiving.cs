namespace WashBridge.Protocols.OpcUa.Channels;

/// <content>Requests. Renewals and the end of the channel are dealt with here.</content>
public sealed partial class ServerChannel
{
    private readonly ReceiveBuffer incoming;
    private IncomingMessages messages = null!;
    private int isReceiving;

    private enum Step
    {
        ReceiveMore,
        Serve,
        Renew,
        Fault,
        Close,
    }

    /// <summary>The next request; null: the client is gone, or broke the rules and was sent away. One caller at a time.</summary>
    public async ValueTask<IncomingRequest?> ReceiveAsync(CancellationToken cancellation)
    {
        if (Interlocked.Exchange(ref isReceiving, 1) != 0)
        {
            throw new InvalidOperationException("somebody receives already");
        }

        try
        {
            var request = await ReceiveNextAsync(cancellation);
            if (request is not null)
            {
                Volatile.Write(ref isReceiving, 0);
                return request;
            }
        }
        catch (OperationCanceledException)
        {
            Volatile.Write(ref isReceiving, 0);
            throw;
        }
        catch (Exception e) when (e is IOException or ObjectDisposedException)
        {
            await BreakAsync(Explain(e), isToBeTold: false);
        }
        catch (Exception e)
        {
            await BreakAsync(Explain(e), isToBeTold: true);
        }

        StopReceiving();
        Volatile.Write(ref isReceiving, 0);
        return null;
    }

    private async ValueTask<IncomingRequest?> ReceiveNextAsync(CancellationToken cancellation)
    {
        while (Volatile.Read(ref isBroken) == 0)
        {
            switch (TakeNext(out var request, out var renewal, out var failure))
            {
                case Step.Serve:
                    return request;
                case Step.Renew:
                    await SendRenewalAsync(renewal);
                    break;
                case Step.Fault:
                    await SendFaultAsync(failure.Request, 0, failure.Status, CancellationToken.None);
                    break;
                case Step.Close:
                    await BreakAsync(new UaException(StatusCodes.BadSecureChannelClosed, "the client closed the channel"), isToBeTold: false, isExpected: true);
                    return null;
                default:
                    messages.ReleaseLongMessage();
                    var count = await stream.ReadAsync(incoming.Free(), cancellation);
                    if (count == 0)
                    {
                        await BreakAsync(new UaException(StatusCodes.BadConnectionClosed, "the client went away"), isToBeTold: false);
                        return null;
                    }

                    incoming.Received(count, time.GetTimestamp());
                    break;
            }
        }

        return null;
    }

    private Step TakeNext(out IncomingRequest? request, out Renewal renewal, out (uint Request, StatusCode Status) failure)
    {
        request = null;
        renewal = default;
        failure = default;
        while (incoming.TryTake(out var header, out var chunk, out var received))
        {
            switch (header.Type)
            {
                case ChunkType.Message or ChunkType.Close:
                    if (!messages.TryTake(header, chunk, received, out var message) || message.IsAborted)
                    {
                        continue;
                    }

                    SwitchToken();
                    return header.Type == ChunkType.Close ? Step.Close : Read(message, out request, out failure);
                case ChunkType.Open when header.Final == (byte)'F':
                    renewal = TakeRenewal(chunk);
                    return Step.Renew;
                default:
                    throw new UaException(StatusCodes.BadTcpMessageTypeInvalid, $"a {ChunkHeader.Name(header.Type)} chunk from a client on an open channel");
            }
        }

        return Step.ReceiveMore;
    }

    private Step Read(IncomingMessage message, out IncomingRequest? request, out (uint Request, StatusCode Status) failure)
    {
        failure = default;
        try
        {
            request = new IncomingRequest(message.Request, message.Body, options.Decoding, message.Received);
            return Step.Serve;
        }
        catch (UaException e)
        {
            // The chunks are genuine and in order: only this message is of no use.
            request = null;
            failure = (message.Request, e.Status);
            return Step.Fault;
        }
    }

    private void StopReceiving()
    {
        if (Interlocked.Exchange(ref isStopped, 1) == 0)
        {
            incoming.Dispose();
            messages?.Dispose();
            openChunk?.Dispose();
        }
    }
}
