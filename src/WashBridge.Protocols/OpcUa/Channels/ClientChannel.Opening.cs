using System.Security.Cryptography;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <content>Hello, acknowledge, and the tokens: the first one and those that follow (OPC 10000-6, 6.7.4 and 7.1.3).</content>
public sealed partial class ClientChannel
{
    private const double RenewedAfter = 0.75;

    private readonly ITimer renewal;
    private byte[] clientNonce = [];
    private byte[] serverNonce = [];

    /// <summary>Of the OpenSecureChannel request on its way; 0: none.</summary>
    private uint openingRequest;

    private async Task ShakeHandsAsync(CancellationToken stop)
    {
        using var writer = new UaWriter();
        new Hello(
            0,
            (uint)options.Limits.ReceiveBufferSize,
            (uint)options.Limits.SendBufferSize,
            (uint)options.Limits.MaxMessageSize,
            (uint)options.Limits.MaxChunkCount,
            options.Endpoint.OriginalString).Write(writer);
        await stream.WriteAsync(writer.WrittenMemory, stop);
        await ReceiveUntilAsync(TakeAcknowledge, stop);
        await stream.WriteAsync(WriteOpen(writer, TokenRequestType.Issue), stop);
        await ReceiveUntilAsync(TakeFirstToken, stop);
        Log.Opened(logger, options.Endpoint, ChannelId, options.Policy, options.Mode);
    }

    private async Task ReceiveUntilAsync(Func<bool> take, CancellationToken stop)
    {
        while (!take())
        {
            var count = await stream.ReadAsync(incoming.Free(), stop);
            if (count == 0)
            {
                throw Disconnected(null);
            }

            incoming.Received(count, time.GetTimestamp());
        }
    }

    private bool TakeAcknowledge()
    {
        if (!TryTakeOf(ChunkType.Acknowledge, out var chunk))
        {
            return false;
        }

        var agreed = Acknowledge.Read(chunk);
        if (agreed.ReceiveBufferSize < TransportLimits.LeastBufferSize || agreed.SendBufferSize < TransportLimits.LeastBufferSize)
        {
            throw new UaException(
                StatusCodes.BadConnectionRejected,
                $"the server offers chunks of {agreed.ReceiveBufferSize} and {agreed.SendBufferSize} bytes; at least {TransportLimits.LeastBufferSize} are required");
        }

        // A server must not answer with more than it was asked for; what it says beyond that is cut.
        incoming.Resize((int)Math.Min(agreed.SendBufferSize, (uint)options.Limits.ReceiveBufferSize));
        outgoing = new OutgoingMessages(
            security,
            (int)Math.Min(agreed.ReceiveBufferSize, (uint)options.Limits.SendBufferSize),
            agreed.MaxMessageSize,
            agreed.MaxChunkCount);
        return true;
    }

    private bool TakeFirstToken()
    {
        if (!TryTakeOf(ChunkType.Open, out var chunk))
        {
            return false;
        }

        TakeToken(chunk);
        return true;
    }

    private bool TryTakeOf(ChunkType expected, out Span<byte> chunk)
    {
        if (!incoming.TryTake(out var header, out chunk, out _))
        {
            return false;
        }

        if (header.Type == ChunkType.Error)
        {
            throw Refused(chunk);
        }

        return header.Type == expected && header.Final == (byte)'F'
            ? true
            : throw new UaException(StatusCodes.BadTcpMessageTypeInvalid, $"a {ChunkHeader.Name(header.Type)} chunk instead of {ChunkHeader.Name(expected)}");
    }

    /// <summary>Writes an OpenSecureChannel request with a nonce that was never used before.</summary>
    private ReadOnlyMemory<byte> WriteOpen(UaWriter writer, TokenRequestType type)
    {
        clientNonce = RandomNumberGenerator.GetBytes(options.Policy.NonceBytes);
        openingRequest = NextRequestId();
        using var body = new UaWriter();
        body.WriteNodeId(new NodeId(OpenSecureChannelRequest.EncodingId));
        new RequestHeader(NodeId.Null, time.GetUtcNow().UtcDateTime, openingRequest, (uint)options.ConnectTimeout.TotalMilliseconds).Write(body);
        new OpenSecureChannelRequest(0, type, options.Mode, clientNonce, (uint)options.TokenLifetime.TotalMilliseconds).Write(body);
        openChunk.Write(writer, ChannelId, outgoing.NextSequence(), openingRequest, body.Written);
        return writer.WrittenMemory;
    }

    /// <summary>Takes the answer to an OpenSecureChannel request. From here on both sides use the new keys.</summary>
    private void TakeToken(ReadOnlySpan<byte> chunk)
    {
        var head = OpenHeader.Read(chunk);
        CheckSender(head);
        var (sequence, request, body) = openChunk.Read(chunk, head);
        messages.CheckSequence(sequence);
        if (openingRequest == 0 || request != openingRequest)
        {
            throw new UaException(StatusCodes.BadUnknownResponse, $"a token for request {request}, which did not ask for one");
        }

        openingRequest = 0;
        var answer = ReadOpenResponse(body);
        var token = answer.Token;
        CheckToken(head, answer);
        serverNonce = answer.ServerNonce ?? [];
        ChannelId = messages.ChannelId = outgoing.ChannelId = token.ChannelId;
        var lifetime = TimeSpan.FromMilliseconds(token.RevisedLifetime);
        var fresh = new ChannelToken(
            token.TokenId,
            security.Signs ? ChannelKeys.Derive(options.Policy, serverNonce, clientNonce) : null,
            security.Signs ? ChannelKeys.Derive(options.Policy, clientNonce, serverNonce) : null,
            time.GetTimestamp(),
            lifetime);
        messages.Use(fresh);
        Volatile.Write(ref sendToken, fresh);
        renewal.Change(lifetime * RenewedAfter, Timeout.InfiniteTimeSpan);
        Log.Renewed(logger, options.Endpoint, ChannelId, token.TokenId, lifetime);
    }

    private void CheckSender(OpenHeader head)
    {
        if (head.PolicyUri != options.Policy.Uri)
        {
            throw new UaException(StatusCodes.BadSecurityPolicyRejected, $"the server answered under the policy \"{head.PolicyUri}\" instead of \"{options.Policy.Uri}\"");
        }

        if (options.Policy.IsNone)
        {
            return;
        }

        if (!CertificateChain.Leaf(head.SenderChain).Span.SequenceEqual(CertificateChain.Leaf(options.ServerCertificate).Span))
        {
            throw new UaException(StatusCodes.BadCertificateInvalid, "the server answered with another certificate than its endpoint shows");
        }

        if (!head.ReceiverThumbprint.AsSpan().SequenceEqual(options.Certificate!.Thumbprint))
        {
            throw new UaException(StatusCodes.BadCertificateInvalid, "the server answered to another certificate than ours");
        }
    }

    private OpenSecureChannelResponse ReadOpenResponse(byte[] body)
    {
        var reader = new UaReader(body, options.Decoding);
        var type = reader.ReadNodeId();
        var header = ResponseHeader.Read(ref reader);
        if (header.ServiceResult.IsBad)
        {
            throw new UaServiceException(header.ServiceResult, "the server refused a secure channel");
        }

        return type == new NodeId(OpenSecureChannelResponse.EncodingId)
            ? OpenSecureChannelResponse.Read(ref reader)
            : throw new UaException(StatusCodes.BadUnknownResponse, $"a secure channel was answered by a message of type {type}");
    }

    private void CheckToken(OpenHeader head, OpenSecureChannelResponse answer)
    {
        var token = answer.Token;
        if (token.ChannelId == 0 || (ChannelId != 0 && token.ChannelId != ChannelId) || (head.ChannelId != token.ChannelId && head.ChannelId != 0))
        {
            throw new UaException(StatusCodes.BadSecureChannelIdInvalid, $"a token of channel {token.ChannelId}; ours is {ChannelId}");
        }

        if (token.RevisedLifetime == 0)
        {
            throw new UaException(StatusCodes.BadSecureChannelTokenUnknown, "a token that expires at once");
        }

        if (options.Policy.NonceBytes > 0
            && (answer.ServerNonce?.Length != options.Policy.NonceBytes || answer.ServerNonce.AsSpan().SequenceEqual(serverNonce)))
        {
            throw new UaException(StatusCodes.BadNonceInvalid, $"a nonce of {answer.ServerNonce?.Length} bytes, or one used before; {options.Policy.NonceBytes} new ones are required");
        }
    }

    private void OnRenewalDue()
    {
        if (openingRequest != 0)
        {
            Break(new UaException(StatusCodes.BadTimeout, "the server did not renew the token before it expired"));
            return;
        }

        _ = RenewAsync();
    }

    private async Task RenewAsync()
    {
        using var writer = new UaWriter();
        try
        {
            await sendGate.WaitAsync();
            try
            {
                // If no answer has come when the old token expires, that is the end.
                var chunk = WriteOpen(writer, TokenRequestType.Renew);
                renewal.Change(sendToken.Lifetime * (1 - RenewedAfter), Timeout.InfiniteTimeSpan);
                await stream.WriteAsync(chunk);
            }
            finally
            {
                sendGate.Release();
            }
        }
        catch (Exception e) when (e is IOException or ObjectDisposedException or UaException)
        {
            Break(Explain(e));
        }
    }
}
