using System.Buffers;
using System.Diagnostics.CodeAnalysis;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <content>Responses, numbered, protected and sent one after the other.</content>
public sealed partial class ServerChannel
{
    [SuppressMessage("Reliability", "CA2213:Disposable fields should be disposed", Justification = "Callers may still wait for it; it holds nothing that needs disposing.")]
    private readonly SemaphoreSlim sendGate = new(1, 1);

    private readonly WriterPool writers = new(kept: 4);
    private OutgoingMessages outgoing = null!;
    private ChannelToken sendToken = null!;
    private ChannelToken? nextToken;
    private ChannelToken? lastSendToken;

    /// <summary>Sends a response; one that is larger than the client accepts becomes a fault with BadResponseTooLarge. Completes when the network has taken it.</summary>
    /// <exception cref="UaException">The connection is lost.</exception>
    public async ValueTask SendAsync<TResponse>(uint requestId, ResponseHeader header, TResponse body, CancellationToken cancellation)
        where TResponse : IEncodable<TResponse>
    {
        var message = writers.Rent();
        try
        {
            if (!TryEncode(message, header, body))
            {
                TryEncode(message, header with { ServiceResult = StatusCodes.BadResponseTooLarge }, new ServiceFault());
            }

            await sendGate.WaitAsync(cancellation);
            try
            {
                ThrowIfBroken();
                await SendLockedAsync(requestId, message);
            }
            finally
            {
                sendGate.Release();
            }
        }
        catch (Exception e) when (e is IOException or ObjectDisposedException)
        {
            var reason = Explain(e);
            await BreakAsync(reason, isToBeTold: false);
            ThrowIfBroken();
        }
        finally
        {
            writers.Return(message);
        }
    }

    /// <summary>Tells that a request failed as a whole.</summary>
    /// <param name="handle">Of the request's header.</param>
    /// <inheritdoc cref="SendAsync"/>
    public ValueTask SendFaultAsync(uint requestId, uint handle, StatusCode status, CancellationToken cancellation) =>
        SendAsync(requestId, new ResponseHeader(time.GetUtcNow().UtcDateTime, handle, status), new ServiceFault(), cancellation);

    private bool TryEncode<TResponse>(UaWriter message, ResponseHeader header, TResponse body)
        where TResponse : IEncodable<TResponse>
    {
        try
        {
            OutgoingMessages.Begin(message);
            message.WriteNodeId(new NodeId(TResponse.EncodingId));
            header.Write(message);
            body.Write(message);
        }
        catch (UaException e) when (e.Status == StatusCodes.BadEncodingLimitsExceeded)
        {
            return false;
        }

        return outgoing.FindExcess(message) is null;
    }

    private ValueTask SendLockedAsync(uint requestId, UaWriter message)
    {
        var token = CurrentSendToken();
        return outgoing.FitsOneChunk(message)
            ? WriteAsync(outgoing.Seal(message, token, ChunkType.Message, requestId))
            : SendChunksAsync(requestId, message, token);
    }

    private async ValueTask SendChunksAsync(uint requestId, UaWriter message, ChannelToken token)
    {
        var chunk = outgoing.RentChunk();
        var length = message.Length - SymmetricChunk.BodyAt;
        for (var sent = 0; sent < length;)
        {
            var size = outgoing.SealNext(message, ref sent, token, requestId, chunk);
            await WriteAsync(chunk.AsMemory(0, size));
        }

        ArrayPool<byte>.Shared.Return(chunk);
    }

    private async Task SendRenewalAsync(Renewal renewal)
    {
        using var writer = new UaWriter();
        await sendGate.WaitAsync();
        try
        {
            ThrowIfBroken();
            WriteOpenResponse(writer, renewal.RequestId, renewal.Handle, renewal.Token);
            Volatile.Write(ref nextToken, renewal.Token);
            await WriteAsync(writer.WrittenMemory);
        }
        finally
        {
            sendGate.Release();
        }

        Log.Renewed(logger, peer, ChannelId, renewal.Token.Id, renewal.Token.Lifetime);
    }

    /// <summary>A write that the client does not take ends the connection.</summary>
    private ValueTask WriteAsync(ReadOnlyMemory<byte> chunk)
    {
        var write = stream.WriteAsync(chunk);
        return write.IsCompletedSuccessfully ? write : WatchAsync(write);
    }

    private async ValueTask WatchAsync(ValueTask write)
    {
        await using var watch = time.CreateTimer(
            static channel => ((ServerChannel)channel!).Break(new UaException(StatusCodes.BadTimeout, "the client does not take what is sent")),
            this,
            options.SendTimeout,
            Timeout.InfiniteTimeSpan);
        await write;
    }

    /// <summary>The client has used its new token: ours may be used too (OPC 10000-4, 5.6.2.1).</summary>
    private void SwitchToken()
    {
        if (messages.IsCurrentTokenInUse && Volatile.Read(ref nextToken) is { } next)
        {
            Volatile.Write(ref sendToken, next);
            Volatile.Write(ref nextToken, null);
        }
    }

    /// <summary>Within the send gate. Keys that nothing is sent under any more are wiped.</summary>
    private ChannelToken CurrentSendToken()
    {
        var token = Volatile.Read(ref sendToken);
        if (Volatile.Read(ref nextToken) is { } next && time.GetElapsedTime(token.Created) > token.Lifetime)
        {
            Volatile.Write(ref sendToken, token = next);
        }

        if (lastSendToken != token)
        {
            lastSendToken?.Send?.Dispose();
            lastSendToken = token;
        }

        return token;
    }
}
