using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Protocols.Tests.OpcUa.Channels;

namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>The client's end of a connection to a <see cref="ServerChannel"/> in memory, chunk by chunk, so that each can be other than it should be.</summary>
internal sealed class RawClient(Random random, SecurityPolicy policy, MessageSecurityMode mode, ServerChannelOptions options, TimeProvider time)
{
    private readonly byte[] nonce = new byte[policy.NonceBytes];

    public MemoryLine Line { get; } = new();

    public Task<ServerChannel> Accepting { get; private set; } = null!;

    /// <summary>Once the handshake is done.</summary>
    public HostileChunks Chunks { get; private set; } = null!;

    public static byte[] Hello(string url = "opc.tcp://localhost/washbridge/tests")
    {
        using var writer = new UaWriter();
        new Hello(0, 65_536, 65_536, 0, 0, url).Write(writer);
        return writer.Written.ToArray();
    }

    public void Connect() => Accepting = ServerChannel.AcceptAsync(Line, options, NullLogger.Instance, time, CancellationToken.None);

    /// <summary>The whole handshake, within the rules.</summary>
    public ServerChannel Open()
    {
        Connect();
        Line.Push(Hello());
        Line.Push(OpenRequest(TokenRequestType.Issue, 0, 1));
        Begin();
        return Accepting.Result;
    }

    public byte[] OpenRequest(TokenRequestType type, uint channel, uint sequence)
    {
        random.NextBytes(nonce);
        using var body = new UaWriter();
        body.WriteNodeId(new NodeId(OpenSecureChannelRequest.EncodingId));
        new RequestHeader(NodeId.Null, DateTime.UnixEpoch, 1, 0).Write(body);
        new OpenSecureChannelRequest(0, type, mode, nonce, 3_600_000).Write(body);
        using var writer = new UaWriter();
        using var protection = Protection();
        protection.Write(writer, channel, sequence, sequence, body.Written);
        return writer.Written.ToArray();
    }

    /// <summary>Takes the keys from the server's answer.</summary>
    public void Begin()
    {
        var chunk = Line.Written[^1];
        Line.Written.Clear();
        using var protection = Protection();
        var reader = new UaReader(protection.Read(chunk, OpenHeader.Read(chunk)).Body, DecodingLimits.Default);
        reader.ReadNodeId();
        ResponseHeader.Read(ref reader);
        var answer = OpenSecureChannelResponse.Read(ref reader);
        var keys = mode == MessageSecurityMode.None ? null : ChannelKeys.Derive(policy, answer.ServerNonce, nonce);
        var token = new ChannelToken(answer.Token.TokenId, keys, null, 0, TimeSpan.FromHours(1));
        Chunks = new HostileChunks(random, new ChannelSecurity(policy, mode), token, answer.Token.ChannelId) { Sequence = 1 };
    }

    /// <summary>The status of the error message that the server sent last (OPC 10000-6, 7.1.2.5).</summary>
    public StatusCode Error()
    {
        var chunk = Line.Written[^1];
        Assert.Equal(ChunkType.Error, ChunkHeader.Read(chunk).Type);
        return TransportError.Read(chunk.AsSpan(ChunkHeader.Bytes)).Status;
    }

    private OpenChunk Protection() => policy.IsNone
        ? new OpenChunk(policy, null, default)
        : new OpenChunk(policy, ChannelPair.CertificatesOf().Client, ChannelPair.CertificatesOf().Server.Der);
}
