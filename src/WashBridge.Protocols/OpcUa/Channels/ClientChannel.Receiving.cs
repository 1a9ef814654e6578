namespace WashBridge.Protocols.OpcUa.Channels;

/// <content>Answers, decoded from where they were received.</content>
public sealed partial class ClientChannel
{
    /// <summary>Answers to unknown requests, without a good one between them, after which the server is taken for mad.</summary>
    private const int MaxStrayAnswers = 16;

    private readonly ReceiveBuffer incoming;
    private readonly IncomingMessages messages;
    private int straysInARow;

    /// <summary>Answers that came after their request had been given up, and were dropped.</summary>
    public long LateAnswers { get; private set; }

    /// <summary>Answers to requests that nobody made, dropped.</summary>
    public long StrayAnswers { get; private set; }

    /// <summary>From any stream but a socket.</summary>
    private async Task ReceiveFromStreamAsync()
    {
        try
        {
            do
            {
                messages.ReleaseLongMessage();
            }
            while (TakeReceived(await stream.ReadAsync(incoming.Free())));
        }
        catch (Exception e) when (e is IOException or ObjectDisposedException)
        {
            Break(Disconnected(e));
        }

        incoming.Dispose();
        messages.Dispose();
    }

    /// <returns>Whether the connection is of use still.</returns>
    private bool TakeReceived(int count)
    {
        if (count == 0)
        {
            Break(Disconnected(null));
            return false;
        }

        try
        {
            incoming.Received(count, time.GetTimestamp());
            while (incoming.TryTake(out var header, out var chunk, out var received))
            {
                Take(header, chunk, received);
            }

            return true;
        }
        catch (Exception e)
        {
            // A client that finds an error closes the channel (OPC 10000-6, 7.1.5). Whatever it is, it must not end on a thread of nobody.
            SayGoodbye();
            Break(Explain(e));
            return false;
        }
    }

    private void Take(ChunkHeader header, Span<byte> chunk, long received)
    {
        switch (header.Type)
        {
            case ChunkType.Message:
                if (messages.TryTake(header, chunk, received, out var message))
                {
                    Dispatch(message);
                }

                break;
            case ChunkType.Open when header.Final == (byte)'F':
                TakeToken(chunk);
                break;
            case ChunkType.Error:
                throw Refused(chunk);
            default:
                throw new UaException(StatusCodes.BadTcpMessageTypeInvalid, $"a {ChunkHeader.Name(header.Type)} chunk from a server on an open channel");
        }
    }

    private void Dispatch(IncomingMessage message)
    {
        PendingRequest? request;
        lock (gate)
        {
            if (!pending.Remove(message.Request, out request))
            {
                DropUnasked(message.Request);
                return;
            }

            NoteEnd(request);
        }

        straysInARow = 0;
        if (request.IsAnsweredSoon)
        {
            // One answer that took long, because this machine was busy, says little about the server.
            usualRoundTrip += Math.Min(message.Received - request.Sent - usualRoundTrip, soonTicks) / 8;
        }

        if (message.IsAborted)
        {
            var error = TransportError.Read(message.Body);
            request.TakeFailure(new UaServiceException(error.Status, $"the server gave up its answer to {request.Service}: {error.Reason}"));
        }
        else
        {
            request.TakeAnswer(message.Body, options.Decoding, message.Received);
        }

        request.Complete();
    }

    private void DropUnasked(uint request)
    {
        if (owed.Remove(request))
        {
            LateAnswers++;
            Log.LateAnswer(logger, options.Endpoint, request);
            return;
        }

        StrayAnswers++;
        Log.StrayAnswer(logger, options.Endpoint, request);
        if (++straysInARow >= MaxStrayAnswers)
        {
            throw new UaException(StatusCodes.BadUnknownResponse, $"{MaxStrayAnswers} answers in a row to requests that nobody made");
        }
    }

    private static UaException Disconnected(Exception? cause) => new(
        StatusCodes.BadConnectionClosed,
        cause is null ? "the server closed the connection" : $"the connection was lost: {cause.Message}",
        cause);

    private static UaException Refused(ReadOnlySpan<byte> chunk)
    {
        var error = TransportError.Read(chunk[ChunkHeader.Bytes..]);
        return new UaException(error.Status, $"the server closed the connection: {(string.IsNullOrEmpty(error.Reason) ? "no reason given" : error.Reason)}");
    }
}
