using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Protocols.Tests.OpcUa.Channels;

namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>The server's end of a connection to a <see cref="ClientChannel"/> in memory, chunk by chunk, so that each can be other than it should be.</summary>
internal sealed class RawServer(Random random, SecurityPolicy policy, MessageSecurityMode mode, ClientChannelOptions options, TimeProvider time)
{
    private const uint ChannelId = 4711;
    private const uint TokenId = 1;

    private ChannelToken token = null!;

    public MemoryLine Line { get; } = new();

    public Task<ClientChannel> Opening { get; private set; } = null!;

    /// <summary>Once the handshake is done.</summary>
    public HostileChunks Chunks { get; private set; } = null!;

    /// <summary>Of the last request; the opening was number 1.</summary>
    public uint LastRequest { get; set; } = 1;

    public void Connect() => Opening = ClientChannel.OpenAsync(Line, options, NullLogger.Instance, time, CancellationToken.None);

    /// <summary>The whole handshake, within the rules.</summary>
    public ClientChannel Open()
    {
        Connect();
        Line.Push(Acknowledge());
        Line.Push(OpenResponse());
        Begin();
        return Opening.Result;
    }

    public static byte[] Acknowledge()
    {
        using var writer = new UaWriter();
        new Acknowledge(0, 65_536, 65_536, 0, 0).Write(writer);
        return writer.Written.ToArray();
    }

    /// <summary>The answer to the opening that the client has just sent.</summary>
    public byte[] OpenResponse()
    {
        using var protection = policy.IsNone
            ? new OpenChunk(policy, null, default)
            : new OpenChunk(policy, ChannelPair.CertificatesOf().Server, ChannelPair.CertificatesOf().Client.Der);
        var chunk = Line.Written[^1];
        var (_, request, sent) = protection.Read(chunk, OpenHeader.Read(chunk));
        var reader = new UaReader(sent, DecodingLimits.Default);
        reader.ReadNodeId();
        RequestHeader.Read(ref reader);
        var clientNonce = OpenSecureChannelRequest.Read(ref reader).ClientNonce;
        var nonce = new byte[policy.NonceBytes];
        random.NextBytes(nonce);
        token = new ChannelToken(TokenId, mode == MessageSecurityMode.None ? null : ChannelKeys.Derive(policy, clientNonce, nonce), null, 0, TimeSpan.FromHours(1));
        using var body = new UaWriter();
        body.WriteNodeId(new NodeId(OpenSecureChannelResponse.EncodingId));
        new ResponseHeader(DateTime.UnixEpoch, request, StatusCodes.Good).Write(body);
        new OpenSecureChannelResponse(0, new ChannelSecurityToken(ChannelId, TokenId, DateTime.UnixEpoch, 3_600_000), nonce).Write(body);
        using var writer = new UaWriter();
        protection.Write(writer, ChannelId, 1, request, body.Written);
        return writer.Written.ToArray();
    }

    public void Begin() => Chunks = new HostileChunks(random, new ChannelSecurity(policy, mode), token, ChannelId) { Sequence = 1 };
}
