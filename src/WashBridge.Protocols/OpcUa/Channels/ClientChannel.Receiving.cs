using System.Runtime.CompilerServices;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <content>Answers, decoded from where they were received.</content>
public sealed partial class ClientChannel
{
    /// <summary>Answers to unknown requests, without a good one between them, after which the server is taken for mad.</summary>
    private const int MaxStrayAnswers = 16;

    private readonly ReceiveBuffer incoming;
    private readonly IncomingMessages messages;
    private readonly Action onReceived;
    private ConfiguredValueTaskAwaitable<int>.ConfiguredValueTaskAwaiter receive;
    private int straysInARow;

    /// <summary>The first one answered since the last receive began: its caller continues on the receiving thread, once another receive waits for what follows.</summary>
    private PendingRequest? answeredFirst;

    /// <summary>Answers that came after their request had been given up, and were dropped.</summary>
    public long LateAnswers { get; private set; }

    /// <summary>Answers to requests that nobody made, dropped.</summary>
    public long StrayAnswers { get; private set; }

    private void Receive()
    {
        do
        {
            try
            {
                messages.ReleaseLongMessage();
#pragma warning disable CA2012 // Consumed exactly once, here or in the continuation: only one receive is ever pending.
                receive = stream.ReadAsync(incoming.Free()).ConfigureAwait(false).GetAwaiter();
#pragma warning restore CA2012
            }
            catch (Exception e) when (e is IOException or ObjectDisposedException)
            {
                StopReceiving(Disconnected(e));
                return;
            }

            if (!receive.IsCompleted)
            {
                // In this order: whatever the caller does next, the channel goes on receiving.
                var answered = answeredFirst;
                answeredFirst = null;
                receive.UnsafeOnCompleted(onReceived);
                answered?.Execute();
                return;
            }
        }
        while (TakeReceived());
    }

    private void ContinueReceiving()
    {
        if (TakeReceived())
        {
            Receive();
        }
    }

    private bool TakeReceived()
    {
        try
        {
            var count = receive.GetResult();
            if (count == 0)
            {
                StopReceiving(Disconnected(null));
                return false;
            }

            incoming.Received(count, time.GetTimestamp());
            while (incoming.TryTake(out var header, out var chunk, out var received))
            {
                Take(header, chunk, received);
            }

            return true;
        }
        catch (Exception e) when (e is IOException or ObjectDisposedException)
        {
            StopReceiving(Disconnected(e));
            return false;
        }
        catch (Exception e)
        {
            // A client that finds an error closes the channel (OPC 10000-6, 7.1.5). Whatever it is, it must not end on a thread of nobody.
            SayGoodbye();
            StopReceiving(Explain(e));
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
        }

        straysInARow = 0;
        if (message.IsAborted)
        {
            var error = TransportError.Read(message.Body);
            request.TakeFailure(new UaServiceException(error.Status, $"the server gave up its answer to {request.Service}: {error.Reason}"));
        }
        else
        {
            request.TakeAnswer(message.Body, options.Decoding, message.Received);
        }

        if (answeredFirst is null)
        {
            answeredFirst = request;
        }
        else
        {
            ThreadPool.UnsafeQueueUserWorkItem(request, preferLocal: false);
        }
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

    private void StopReceiving(UaException reason)
    {
        var answered = answeredFirst;
        answeredFirst = null;
        Break(reason);
        incoming.Dispose();
        messages.Dispose();
        answered?.Execute();
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
