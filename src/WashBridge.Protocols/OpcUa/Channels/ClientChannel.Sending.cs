using System.Buffers;
using System.Diagnostics.CodeAnalysis;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <content>Requests: encoded by their callers, numbered, protected and sent one after the other.</content>
public sealed partial class ClientChannel
{
    /// <summary>Requests on their way at once.</summary>
    public const int MaxInFlight = 1024;

    [SuppressMessage("Reliability", "CA2213:Disposable fields should be disposed", Justification = "Callers may still wait for it; it holds nothing that needs disposing.")]
    private readonly SemaphoreSlim sendGate = new(1, 1);

    private readonly WriterPool writers = new(kept: 8);
    private OutgoingMessages outgoing = null!;
    private ChannelToken sendToken = null!;
    private ChannelToken? lastSendToken;
    private uint lastRequestId;
    private int waitingToSend;

    /// <summary>Asks, and waits for the answer at most <paramref name="timeout"/>, from now on.</summary>
    /// <param name="authenticationToken">Of the session; <see cref="NodeId.Null"/> outside of one.</param>
    /// <param name="timeout">1 ms to 49 days, or <see cref="Timeout.InfiniteTimeSpan"/>. The server is told it, and may answer nothing once it has passed.</param>
    /// <exception cref="UaServiceException">The server refused; the channel remains of use.</exception>
    /// <exception cref="UaException">
    /// BadTimeout: no answer in time; a later one is dropped. BadRequestTooLarge: the server accepts no message of this size; nothing was sent. BadTooManyOperations:
    /// too many requests on their way. BadDecodingError, BadEncodingLimitsExceeded, BadUnknownResponse: the answer cannot be understood. Anything else: the connection
    /// is lost, as <see cref="Closed"/> tells too.
    /// </exception>
    public ValueTask<ServiceResponse<TResponse>> RequestAsync<TRequest, TResponse>(
        TRequest body, NodeId authenticationToken, TimeSpan timeout, CancellationToken cancellation)
        where TRequest : IRequest<TRequest, TResponse>
        where TResponse : IEncodable<TResponse>
    {
        CheckTimeout(timeout);
        if (cancellation.IsCancellationRequested)
        {
            return ValueTask.FromCanceled<ServiceResponse<TResponse>>(cancellation);
        }

        var request = new PendingRequest<TResponse>(this) { Id = NextRequestId(), Timeout = timeout };
        var message = writers.Rent();
        if (Encode(message, body, authenticationToken, request) is { } tooLarge)
        {
            writers.Return(message);
            return ValueTask.FromException<ServiceResponse<TResponse>>(tooLarge);
        }

        if (Register(request) is { } refused)
        {
            writers.Return(message);
            return ValueTask.FromException<ServiceResponse<TResponse>>(refused);
        }

        request.AbandonWhen(cancellation);
        _ = SendAsync(request, message);
        return request.Task;
    }

    private static void CheckTimeout(TimeSpan timeout)
    {
        if (timeout != Timeout.InfiniteTimeSpan && (timeout < TimeSpan.FromMilliseconds(1) || timeout.TotalMilliseconds > uint.MaxValue))
        {
            throw new ArgumentOutOfRangeException(nameof(timeout), timeout, "allowed: 1 ms to 49 days, or infinite");
        }
    }

    private UaException? Encode<TRequest>(UaWriter message, TRequest body, NodeId authenticationToken, PendingRequest request)
        where TRequest : IEncodable<TRequest>
    {
        var hint = request.Timeout == Timeout.InfiniteTimeSpan ? 0 : (uint)request.Timeout.TotalMilliseconds;
        try
        {
            OutgoingMessages.Begin(message);
            message.WriteNodeId(new NodeId(TRequest.EncodingId));
            new RequestHeader(authenticationToken, time.GetUtcNow().UtcDateTime, request.Id, hint).Write(message);
            body.Write(message);
        }
        catch (UaException e) when (e.Status == StatusCodes.BadEncodingLimitsExceeded)
        {
            return new UaException(StatusCodes.BadRequestTooLarge, $"{request.Service}: {e.Message}", e);
        }

        return outgoing.FindExcess(message) is { } excess ? new UaException(StatusCodes.BadRequestTooLarge, $"{request.Service}: {excess}") : null;
    }

    private uint NextRequestId()
    {
        uint id;
        do
        {
            id = Interlocked.Increment(ref lastRequestId);
        }
        while (id == 0);
        return id;
    }

    /// <summary>Never fails: what goes wrong breaks the channel, and with it every request.</summary>
    private async Task SendAsync(PendingRequest request, UaWriter message)
    {
        if (Interlocked.Increment(ref waitingToSend) > 2 * MaxInFlight)
        {
            Break(new UaException(StatusCodes.BadCommunicationError, "the server takes no more requests"));
        }

        await sendGate.WaitAsync();
        try
        {
            if (IsPending(request))
            {
                await SendLockedAsync(request, message);
            }
        }
        catch (Exception e) when (e is IOException or ObjectDisposedException)
        {
            Break(Explain(e));
        }
        finally
        {
            sendGate.Release();
            Interlocked.Decrement(ref waitingToSend);
            writers.Return(message);
        }
    }

    private ValueTask SendLockedAsync(PendingRequest request, UaWriter message)
    {
        var token = CurrentSendToken();
        if (!outgoing.FitsOneChunk(message))
        {
            return new ValueTask(SendChunksAsync(request, message, token));
        }

        var chunk = outgoing.Seal(message, token, ChunkType.Message, request.Id);
        request.Sent = time.GetTimestamp();
        return stream.WriteAsync(chunk);
    }

    private async Task SendChunksAsync(PendingRequest request, UaWriter message, ChannelToken token)
    {
        var chunk = outgoing.RentChunk();
        var length = message.Length - SymmetricChunk.BodyAt;
        for (var sent = 0; sent < length;)
        {
            var size = outgoing.SealNext(message, ref sent, token, request.Id, chunk);
            request.Sent = time.GetTimestamp();
            await stream.WriteAsync(chunk.AsMemory(0, size));
        }

        ArrayPool<byte>.Shared.Return(chunk);
    }

    /// <summary>Within the send gate. Keys that nothing is sent under any more are wiped.</summary>
    private ChannelToken CurrentSendToken()
    {
        var token = Volatile.Read(ref sendToken);
        if (lastSendToken != token)
        {
            lastSendToken?.Send?.Dispose();
            lastSendToken = token;
        }

        return token;
    }

    /// <summary>CloseSecureChannel (OPC 10000-4, 5.6.3), if nobody is sending just now.</summary>
    private void SayGoodbye()
    {
        lock (gate)
        {
            if (broken is not null)
            {
                return;
            }
        }

        if (ChannelId == 0 || !sendGate.Wait(0))
        {
            return;
        }

        try
        {
            using var message = new UaWriter();
            var id = NextRequestId();
            OutgoingMessages.Begin(message);
            message.WriteNodeId(new NodeId(CloseSecureChannelRequest.EncodingId));
            new RequestHeader(NodeId.Null, time.GetUtcNow().UtcDateTime, id, 0).Write(message);
            var chunk = outgoing.Seal(message, CurrentSendToken(), ChunkType.Close, id).ToArray();
            _ = WriteIgnoringErrorsAsync(chunk);
        }
        finally
        {
            sendGate.Release();
        }
    }

    private async Task WriteIgnoringErrorsAsync(byte[] chunk)
    {
        try
        {
            await stream.WriteAsync(chunk);
        }
        catch (Exception e) when (e is IOException or ObjectDisposedException)
        {
            // The connection is being given up anyway.
        }
    }
}
