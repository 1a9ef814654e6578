using System.Security.Cryptography;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <content>Hello, acknowledge, and the first token (OPC 10000-6, 6.7.4 and 7.1.3).</content>
public sealed partial class ServerChannel
{
    /// <summary>For an OPN chunk from somebody unknown. Two certificates of 4,096 bits and the encrypted part take less than 8,000 bytes.</summary>
    private const int MaxOpenBytes = 16 * 1024;

    private ChannelSecurity security = new(SecurityPolicy.None, MessageSecurityMode.None);
    private OpenChunk? openChunk;
    private byte[] clientNonce = [];
    private byte[] serverNonce = [];
    private uint lastTokenId;
    private int chunkToReceive;

    private async Task ShakeHandsAsync(CancellationToken stop)
    {
        using var writer = new UaWriter();
        var hello = await ReceiveHelloAsync(stop);
        EndpointUrl = hello.EndpointUrl ?? "";
        chunkToReceive = (int)Math.Min(hello.SendBufferSize, (uint)options.Limits.ReceiveBufferSize);
        var chunkToSend = (int)Math.Min(hello.ReceiveBufferSize, (uint)options.Limits.SendBufferSize);
        new Acknowledge(0, (uint)chunkToReceive, (uint)chunkToSend, (uint)options.Limits.MaxMessageSize, (uint)options.Limits.MaxChunkCount).Write(writer);
        await stream.WriteAsync(writer.WrittenMemory, stop);

        incoming.Resize(Math.Min(chunkToReceive, MaxOpenBytes));
        while (!TryTakeFirstOpen(writer, hello, chunkToSend))
        {
            await ReceiveMoreAsync(stop);
        }

        await stream.WriteAsync(writer.WrittenMemory, stop);
        incoming.Resize(chunkToReceive);
    }

    private async Task<Hello> ReceiveHelloAsync(CancellationToken stop)
    {
        Hello? hello;
        while ((hello = TakeHello()) is null)
        {
            await ReceiveMoreAsync(stop);
        }

        var (least, offered) = (TransportLimits.LeastBufferSize, Math.Min(hello.Value.ReceiveBufferSize, hello.Value.SendBufferSize));
        return offered >= least
            ? hello.Value
            : throw new UaException(StatusCodes.BadConnectionRejected, $"chunks of {offered} bytes offered; at least {least} are required");
    }

    private Hello? TakeHello()
    {
        if (!incoming.TryTake(out var header, out var chunk, out _))
        {
            return null;
        }

        if (header.Type != ChunkType.Hello || header.Final != (byte)'F')
        {
            throw new UaException(StatusCodes.BadTcpMessageTypeInvalid, $"a {ChunkHeader.Name(header.Type)} chunk instead of a hello");
        }

        try
        {
            return Hello.Read(chunk);
        }
        catch (UaException e) when (e.Status == StatusCodes.BadEncodingLimitsExceeded)
        {
            throw new UaException(StatusCodes.BadTcpEndpointUrlInvalid, $"an endpoint URL that is too long; allowed: {Hello.MaxUrlBytes} bytes", e);
        }
    }

    private async Task ReceiveMoreAsync(CancellationToken stop)
    {
        var count = await stream.ReadAsync(incoming.Free(), stop);
        if (count == 0)
        {
            throw new UaException(StatusCodes.BadConnectionClosed, "the client went away");
        }

        incoming.Received(count, time.GetTimestamp());
    }

    /// <summary>Opens the channel and writes the answer.</summary>
    private bool TryTakeFirstOpen(UaWriter answer, Hello hello, int chunkToSend)
    {
        if (!incoming.TryTake(out var header, out var chunk, out _))
        {
            return false;
        }

        if (header.Type != ChunkType.Open || header.Final != (byte)'F')
        {
            throw new UaException(StatusCodes.BadTcpMessageTypeInvalid, $"a {ChunkHeader.Name(header.Type)} chunk instead of OPN");
        }

        var head = OpenHeader.Read(chunk);
        if (head.ChannelId != 0)
        {
            throw new UaException(StatusCodes.BadTcpSecureChannelUnknown, $"channel {head.ChannelId} is not one of this connection");
        }

        var policy = SecurityPolicy.Find(head.PolicyUri);
        if (policy is null || !options.Allowed.Any(allowed => allowed.Policy == policy))
        {
            throw new UaException(StatusCodes.BadSecurityPolicyRejected, $"the policy \"{head.PolicyUri}\"; allowed: {string.Join(", ", options.Allowed.Select(a => a.Policy).Distinct())}");
        }

        CheckClient(policy, head);
        openChunk = new OpenChunk(policy, options.Certificate, head.SenderChain);
        var (sequence, requestId, body) = openChunk.Read(chunk, head);
        var (requestHeader, request) = ReadOpenRequest(body);
        if (!options.Allowed.Contains(new ChannelProtection(policy, request.SecurityMode)))
        {
            throw new UaException(StatusCodes.BadSecurityModeRejected, $"mode {request.SecurityMode} with the policy {policy}, which is not offered");
        }

        if (request.RequestType != TokenRequestType.Issue)
        {
            throw new UaException(StatusCodes.BadRequestTypeInvalid, $"a first token of request type {request.RequestType}");
        }

        security = new ChannelSecurity(policy, request.SecurityMode);
        ClientCertificate = policy.IsNone ? default : head.SenderChain;
        messages = new IncomingMessages(security, options.Limits, time) { ChannelId = ChannelId };
        messages.CheckSequence(sequence);
        outgoing = new OutgoingMessages(security, chunkToSend, hello.MaxMessageSize, hello.MaxChunkCount) { ChannelId = ChannelId };
        var token = IssueToken(request);
        Volatile.Write(ref sendToken, token);
        WriteOpenResponse(answer, requestId, requestHeader.Handle, token);
        return true;
    }

    /// <summary>Before our key touches anything (OPC 10000-6, 6.7.6).</summary>
    private void CheckClient(SecurityPolicy policy, OpenHeader head)
    {
        if (policy.IsNone)
        {
            return;
        }

        if (!head.ReceiverThumbprint.AsSpan().SequenceEqual(options.Certificate!.Thumbprint))
        {
            throw new UaException(StatusCodes.BadCertificateInvalid, "the message is for another certificate than ours");
        }

        var verdict = options.ValidateClient(head.SenderChain);
        if (!verdict.IsGood)
        {
            throw new UaException(verdict, "the client's certificate is refused");
        }
    }

    private (RequestHeader Header, OpenSecureChannelRequest Request) ReadOpenRequest(byte[] body)
    {
        var reader = new UaReader(body, options.Decoding);
        var type = reader.ReadNodeId();
        var header = RequestHeader.Read(ref reader);
        return type == new NodeId(OpenSecureChannelRequest.EncodingId)
            ? (header, OpenSecureChannelRequest.Read(ref reader))
            : throw new UaException(StatusCodes.BadTcpMessageTypeInvalid, $"an OPN chunk with a message of type {type}");
    }

    private ChannelToken IssueToken(OpenSecureChannelRequest request)
    {
        var policy = security.Policy;
        if (policy.NonceBytes > 0 && (request.ClientNonce?.Length != policy.NonceBytes || request.ClientNonce.AsSpan().SequenceEqual(clientNonce)))
        {
            throw new UaException(StatusCodes.BadNonceInvalid, $"a nonce of {request.ClientNonce?.Length} bytes, or one used before; {policy.NonceBytes} new ones are required");
        }

        clientNonce = request.ClientNonce ?? [];
        serverNonce = RandomNumberGenerator.GetBytes(policy.NonceBytes);
        var lifetime = TimeSpan.FromMilliseconds(request.RequestedLifetime);
        lifetime = lifetime == TimeSpan.Zero || lifetime > options.MaxTokenLifetime ? options.MaxTokenLifetime
            : lifetime < options.MinTokenLifetime ? options.MinTokenLifetime
            : lifetime;
        var token = new ChannelToken(
            ++lastTokenId,
            security.Signs ? ChannelKeys.Derive(policy, clientNonce, serverNonce) : null,
            security.Signs ? ChannelKeys.Derive(policy, serverNonce, clientNonce) : null,
            time.GetTimestamp(),
            lifetime);
        messages.Use(token);
        expiry.Change(token.AcceptedFor, Timeout.InfiniteTimeSpan);
        return token;
    }

    private void WriteOpenResponse(UaWriter writer, uint requestId, uint handle, ChannelToken token)
    {
        var now = time.GetUtcNow().UtcDateTime;
        using var body = new UaWriter();
        body.WriteNodeId(new NodeId(OpenSecureChannelResponse.EncodingId));
        new ResponseHeader(now, handle, StatusCodes.Good).Write(body);
        new OpenSecureChannelResponse(0, new ChannelSecurityToken(ChannelId, token.Id, now, (uint)token.Lifetime.TotalMilliseconds), serverNonce).Write(body);
        openChunk!.Write(writer, ChannelId, outgoing.NextSequence(), requestId, body.Written);
    }
}
