using System.Buffers.Binary;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Channels;

/// <summary>
/// A peer that lays out every chunk itself, under the policy None, so that it can break any rule. Layouts: OPC 10000-6, 6.7.2 and 7.1.2.
/// </summary>
internal sealed class RawPeer(MemoryConnection.End stream)
{
    public const string PolicyNone = "http://opcfoundation.org/UA/SecurityPolicy#None";

    private readonly List<byte> received = [];

    public uint ChannelId { get; set; } = 77;

    public uint TokenId { get; set; } = 1;

    /// <summary>Of the last chunk sent.</summary>
    public uint Sequence { get; set; }

    /// <summary>A client that has shaken hands with our server.</summary>
    public static async Task<(RawPeer Client, ServerChannel Server)> OpenToServerAsync(ServerChannelOptions? options = null, TimeProvider? time = null, uint lifetime = 3_600_000)
    {
        var connection = MemoryConnection.Create();
        var accept = AcceptAsync(connection, options, time);
        var client = new RawPeer(connection.Client);
        await client.SendHelloAsync();
        await client.ReceiveAsync("ACK");
        await client.SendOpenAsync(1, TokenRequestType.Issue, lifetime);
        await client.TakeTokenAsync();
        return (client, await accept);
    }

    public static Task<ServerChannel> AcceptAsync(MemoryConnection connection, ServerChannelOptions? options = null, TimeProvider? time = null) =>
        ServerChannel.AcceptAsync(connection.Server, options ?? ChannelPair.ServerOptions(), NullLogger.Instance, time ?? TimeProvider.System, TestContext.Current.CancellationToken);

    /// <summary>A server that has shaken hands with our client.</summary>
    public static async Task<(ClientChannel Client, RawPeer Server)> OpenToClientAsync(
        ClientChannelOptions? options = null, TimeProvider? time = null, uint lifetime = 3_600_000, uint maxMessage = 0, uint maxChunks = 0)
    {
        var connection = MemoryConnection.Create();
        var open = OpenAsync(connection, options, time);
        var server = new RawPeer(connection.Server);
        await server.ReceiveAsync("HEL");
        await server.SendAcknowledgeAsync(maxMessage: maxMessage, maxChunks: maxChunks);
        await server.AnswerOpenAsync(lifetime);
        return (await open, server);
    }

    public static Task<ClientChannel> OpenAsync(MemoryConnection connection, ClientChannelOptions? options = null, TimeProvider? time = null) =>
        ClientChannel.OpenAsync(connection.Client, options ?? ChannelPair.ClientOptions(), NullLogger.Instance, time ?? TimeProvider.System, TestContext.Current.CancellationToken);

    public Task SendHelloAsync(uint receive = 65_536, uint send = 65_536, uint maxMessage = 0, uint maxChunks = 0, string url = "opc.tcp://localhost:4840") =>
        SendAsync("HELF", w =>
        {
            w.WriteUInt32(0);
            w.WriteUInt32(receive);
            w.WriteUInt32(send);
            w.WriteUInt32(maxMessage);
            w.WriteUInt32(maxChunks);
            w.WriteString(url);
        });

    public Task SendAcknowledgeAsync(uint receive = 65_536, uint send = 65_536, uint maxMessage = 0, uint maxChunks = 0) => SendAsync("ACKF", w =>
    {
        w.WriteUInt32(0);
        w.WriteUInt32(receive);
        w.WriteUInt32(send);
        w.WriteUInt32(maxMessage);
        w.WriteUInt32(maxChunks);
    });

    public Task SendOpenAsync(
        uint request, TokenRequestType type, uint lifetime = 3_600_000, uint channel = 0, string policy = PolicyNone, MessageSecurityMode mode = MessageSecurityMode.None) =>
        SendOpenChunkAsync(channel, policy, null, null, w =>
        {
            WriteSequence(w, request);
            w.WriteNodeId(new NodeId(OpenSecureChannelRequest.EncodingId));
            new RequestHeader(NodeId.Null, default, request, 0).Write(w);
            new OpenSecureChannelRequest(0, type, mode, null, lifetime).Write(w);
        });

    public Task SendOpenChunkAsync(uint channel, string policy, byte[]? certificate, byte[]? thumbprint, Action<UaWriter> rest) => SendAsync("OPNF", w =>
    {
        w.WriteUInt32(channel);
        w.WriteString(policy);
        w.WriteByteString(certificate);
        w.WriteByteString(thumbprint);
        rest(w);
    });

    /// <summary>Takes an OpenSecureChannel request and answers it with a token of the given id.</summary>
    public async Task AnswerOpenAsync(uint lifetime = 3_600_000, uint? token = null)
    {
        var request = ReadOpen(await ReceiveAsync("OPN"));
        TokenId = token ?? TokenId;
        await SendOpenChunkAsync(ChannelId, PolicyNone, null, null, w =>
        {
            WriteSequence(w, request);
            w.WriteNodeId(new NodeId(OpenSecureChannelResponse.EncodingId));
            new ResponseHeader(default, request, StatusCodes.Good).Write(w);
            new OpenSecureChannelResponse(0, new ChannelSecurityToken(ChannelId, TokenId, default, lifetime), null).Write(w);
        });
    }

    /// <summary>Takes an answer to OpenSecureChannel and uses what it brings.</summary>
    public async Task<ChannelSecurityToken> TakeTokenAsync()
    {
        var token = ReadOpenResponse(await ReceiveAsync("OPN")).Token;
        (ChannelId, TokenId) = (token.ChannelId, token.TokenId);
        return token;
    }

    /// <summary>A response to a read, with one value.</summary>
    public Task AnswerReadAsync(uint request, uint value) => SendChunkAsync("MSGF", request, ReadAnswer(request, value));

    public static Action<UaWriter> ReadAnswer(uint handle, uint value) => w =>
    {
        w.WriteNodeId(new NodeId(ReadResponse.EncodingId));
        new ResponseHeader(Messages.ServerTime, handle, StatusCodes.Good).Write(w);
        new ReadResponse([new DataValue(value)]).Write(w);
    };

    public static Action<UaWriter> ReadRequest(uint handle, int nodes = 1) => w =>
    {
        w.WriteNodeId(new NodeId(WashBridge.Protocols.OpcUa.Services.ReadRequest.EncodingId));
        new RequestHeader(NodeId.Null, default, handle, 0).Write(w);
        Messages.Read(nodes).Write(w);
    };

    public Task SendChunkAsync(string type, uint request, Action<UaWriter> body) => SendAsync(type, w =>
    {
        w.WriteUInt32(ChannelId);
        w.WriteUInt32(TokenId);
        WriteSequence(w, request);
        body(w);
    });

    /// <summary>One chunk; its size is filled in.</summary>
    public async Task SendAsync(string type, Action<UaWriter> fields)
    {
        using var writer = new UaWriter();
        writer.WriteBytes(System.Text.Encoding.ASCII.GetBytes(type));
        writer.WriteUInt32(0);
        fields(writer);
        BinaryPrimitives.WriteUInt32LittleEndian(writer.Slice(4, 4), (uint)writer.Length);
        await stream.WriteAsync(writer.WrittenMemory, TestContext.Current.CancellationToken);
    }

    public async Task SendBytesAsync(byte[] bytes) => await stream.WriteAsync(bytes, TestContext.Current.CancellationToken);

    public void Close() => stream.Dispose();

    /// <summary>The next chunk, which must be of this type.</summary>
    public async Task<byte[]> ReceiveAsync(string type)
    {
        var chunk = await ReceiveAsync() ?? throw new InvalidOperationException($"closed instead of {type}");
        var found = System.Text.Encoding.ASCII.GetString(chunk, 0, 3);
        Assert.True(found == type, $"{found} instead of {type}: {(found == "ERR" ? ErrorOf(chunk) : default)}");
        return chunk;
    }

    /// <summary>Null at the end.</summary>
    public async Task<byte[]?> ReceiveAsync()
    {
        var buffer = new byte[65_536];
        while (received.Count < 8 || received.Count < SizeOf([.. received.Take(8)]))
        {
            var count = await stream.ReadAsync(buffer, TestContext.Current.CancellationToken).AsTask().Soon();
            if (count == 0)
            {
                return null;
            }

            received.AddRange(buffer[..count]);
        }

        var size = SizeOf([.. received.Take(8)]);
        var chunk = received.Take(size).ToArray();
        received.RemoveRange(0, size);
        return chunk;
    }

    public async Task<StatusCode> ReceiveErrorAsync() => ErrorOf(await ReceiveAsync("ERR"));

    public static StatusCode ErrorOf(byte[] chunk) => new(BinaryPrimitives.ReadUInt32LittleEndian(chunk.AsSpan(8)));

    public static uint TokenOf(byte[] chunk) => BinaryPrimitives.ReadUInt32LittleEndian(chunk.AsSpan(12));

    public static uint SequenceOf(byte[] chunk) => BinaryPrimitives.ReadUInt32LittleEndian(chunk.AsSpan(16));

    public static uint RequestOf(byte[] chunk) => BinaryPrimitives.ReadUInt32LittleEndian(chunk.AsSpan(20));

    public static (NodeId Type, ResponseHeader Header) ReadResponseHeader(byte[] chunk)
    {
        var reader = new UaReader(chunk.AsSpan(24), DecodingLimits.Default);
        return (reader.ReadNodeId(), ResponseHeader.Read(ref reader));
    }

    private static int SizeOf(byte[] head) => BinaryPrimitives.ReadInt32LittleEndian(head.AsSpan(4));

    private static uint ReadOpen(byte[] chunk)
    {
        var reader = new UaReader(chunk.AsSpan(12), DecodingLimits.Default);
        reader.ReadString();
        reader.ReadByteString();
        reader.ReadByteString();
        reader.ReadUInt32();
        return reader.ReadUInt32();
    }

    private static OpenSecureChannelResponse ReadOpenResponse(byte[] chunk)
    {
        var reader = new UaReader(chunk.AsSpan(12), DecodingLimits.Default);
        reader.ReadString();
        reader.ReadByteString();
        reader.ReadByteString();
        reader.ReadUInt64();
        reader.ReadNodeId();
        ResponseHeader.Read(ref reader);
        return OpenSecureChannelResponse.Read(ref reader);
    }

    private void WriteSequence(UaWriter writer, uint request)
    {
        writer.WriteUInt32(++Sequence);
        writer.WriteUInt32(request);
    }
}
