using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Channels;

/// <summary>Sizes of chunks and messages, both ways (OPC 10000-6, 6.7.3, 7.1.2.3 and 7.1.2.4).</summary>
public sealed class LimitTests
{
    [Theory]
    [InlineData("None", MessageSecurityMode.None)]
    [InlineData("Basic256Sha256", MessageSecurityMode.Sign)]
    [InlineData("Basic256Sha256", MessageSecurityMode.SignAndEncrypt)]
    public async Task No_chunk_is_larger_than_the_other_side_accepts(string name, MessageSecurityMode mode)
    {
        var found = SecurityPolicy.FindByName(name)!;
        var policy = found.IsNone ? null : found;
        var (toServer, toClient) = (new List<int>(), new List<int>());
        var connection = MemoryConnection.Create();
        connection.Client.Tamper = bytes => Note(toServer, bytes);
        connection.Server.Tamper = bytes => Note(toClient, bytes);
        await using var pair = await ChannelPair.OpenAsync(
            connection,
            ChannelPair.ClientOptions(policy, mode) with { Limits = new TransportLimits { ReceiveBufferSize = 8192 } },
            ChannelPair.ServerOptions(policy, mode) with { Limits = new TransportLimits { ReceiveBufferSize = 9000 } });
        var serving = pair.ServeAsync();

        Assert.Equal(10_000, (await pair.ReadAsync(10_000)).Body.Results.Count);

        // Within a block of the limit: none of it is wasted either.
        Assert.InRange(toServer.Max(), 9000 - 16, 9000);
        Assert.InRange(toClient.Max(), 8192 - 16, 8192);
        Assert.True(toServer.Count > 10);
        await pair.Client.DisposeAsync();
        await serving;

        static byte[] Note(List<int> sizes, byte[] bytes)
        {
            sizes.Add(bytes.Length);
            return bytes;
        }
    }

    /// <summary>OPC 10000-6, 7.1.2.4: the client reports it, and nothing is sent.</summary>
    [Theory]
    [InlineData(8192u, 0u)]
    [InlineData(0u, 2u)]
    public async Task A_request_larger_than_the_server_accepts_is_not_sent(uint maxMessage, uint maxChunks)
    {
        var (client, server) = await RawPeer.OpenToClientAsync(
            ChannelPair.ClientOptions() with { Limits = new TransportLimits { SendBufferSize = 8192 } }, maxMessage: maxMessage, maxChunks: maxChunks);

        var tooLarge = await Assert.ThrowsAsync<UaException>(() => Read(client, 2000));
        var small = Read(client, 1);

        Assert.Equal(StatusCodes.BadRequestTooLarge, tooLarge.Status);
        var request = await server.ReceiveAsync("MSG");
        Assert.True(request.Length < 200);
        await server.AnswerReadAsync(RawPeer.RequestOf(request), 5);
        Assert.Equal(5u, (await small).Body.Results[0].Value.Value);
        await client.DisposeAsync();
    }

    /// <summary>OPC 10000-6, 7.1.2.3.</summary>
    [Theory]
    [InlineData(20_000, 2048)]
    [InlineData(1_000_000, 2)]
    public async Task A_response_larger_than_the_client_accepts_becomes_a_fault(int maxMessage, int maxChunks)
    {
        await using var pair = await ChannelPair.OpenAsync(
            MemoryConnection.Create(),
            ChannelPair.ClientOptions() with { Limits = new TransportLimits { ReceiveBufferSize = 8192, MaxMessageSize = maxMessage, MaxChunkCount = maxChunks } },
            ChannelPair.ServerOptions());
        var serving = pair.ServeAsync();

        var tooLarge = await Assert.ThrowsAsync<UaServiceException>(() => pair.ReadAsync(8000));

        Assert.Equal(StatusCodes.BadResponseTooLarge, tooLarge.Status);
        Assert.Equal(10, (await pair.ReadAsync(10)).Body.Results.Count);
        await pair.Client.DisposeAsync();
        await serving;
    }

    [Fact]
    public async Task A_chunk_larger_than_agreed_ends_the_connection_by_its_header()
    {
        var (client, server) = await RawPeer.OpenToServerAsync();
        var receive = server.ReceiveAsync(TestContext.Current.CancellationToken).AsTask();

        await client.SendBytesAsync([(byte)'M', (byte)'S', (byte)'G', (byte)'F', .. BitConverter.GetBytes(65_537)]);

        Assert.Equal(StatusCodes.BadTcpMessageTooLarge, await client.ReceiveErrorAsync());
        Assert.Null(await receive.Soon());
        Assert.Equal(StatusCodes.BadTcpMessageTooLarge, (await server.Closed.Soon()).Status);
    }

    /// <summary>With bodies, and without: chunks that add nothing to the message count too.</summary>
    [Theory]
    [InlineData(1000, 9)]
    [InlineData(0, 21)]
    public async Task Endless_chunks_end_the_connection(int bodyBytes, int refusedAt)
    {
        var (client, server) = await RawPeer.OpenToServerAsync(ChannelPair.ServerOptions() with { Limits = new TransportLimits { MaxMessageSize = 8192, MaxChunkCount = 20 } });
        var receive = server.ReceiveAsync(TestContext.Current.CancellationToken).AsTask();

        for (var i = 0; i < refusedAt; i++)
        {
            await client.SendChunkAsync("MSGC", 9, w => w.Reserve(bodyBytes));
        }

        Assert.Equal(StatusCodes.BadTcpMessageTooLarge, await client.ReceiveErrorAsync());
        Assert.Null(await receive.Soon());
    }

    [Fact]
    public async Task A_server_that_sends_more_than_the_client_accepts_is_left()
    {
        var (client, server) = await RawPeer.OpenToClientAsync(ChannelPair.ClientOptions() with { Limits = new TransportLimits { MaxMessageSize = 8192 } });
        var read = Read(client, 1);
        var request = RawPeer.RequestOf(await server.ReceiveAsync("MSG"));

        await server.SendChunkAsync("MSGC", request, w => w.Reserve(8000));
        await server.SendChunkAsync("MSGC", request, w => w.Reserve(8000));

        Assert.Equal(StatusCodes.BadTcpMessageTooLarge, (await Assert.ThrowsAsync<UaException>(() => read)).Status);
        Assert.Equal(StatusCodes.BadTcpMessageTooLarge, (await client.Closed.Soon()).Status);

        // A client that finds an error closes the channel (OPC 10000-6, 7.1.5).
        await server.ReceiveAsync("CLO");
    }

    /// <summary>OPC 10000-6, 6.7.3: the message is given up, the channel is not.</summary>
    [Theory]
    [InlineData(0)]
    [InlineData(3)]
    public async Task An_aborted_answer_fails_its_request_alone(int chunksBefore)
    {
        var (client, server) = await RawPeer.OpenToClientAsync();
        var (first, second) = (Read(client, 1), Read(client, 1));
        var aborted = RawPeer.RequestOf(await server.ReceiveAsync("MSG"));
        var answered = RawPeer.RequestOf(await server.ReceiveAsync("MSG"));
        for (var i = 0; i < chunksBefore; i++)
        {
            await server.SendChunkAsync("MSGC", aborted, w => w.Reserve(100));
        }

        await server.SendChunkAsync("MSGA", aborted, w =>
        {
            w.WriteStatusCode(StatusCodes.BadResponseTooLarge);
            w.WriteString("more than you take");
        });
        await server.AnswerReadAsync(answered, 6);

        var failed = await Assert.ThrowsAsync<UaServiceException>(() => first);
        Assert.Equal(StatusCodes.BadResponseTooLarge, failed.Status);
        Assert.Contains("more than you take", failed.Message, StringComparison.Ordinal);
        Assert.Equal(6u, (await second).Body.Results[0].Value.Value);
        await client.DisposeAsync();
    }

    [Fact]
    public async Task An_aborted_request_is_forgotten()
    {
        var (client, server) = await RawPeer.OpenToServerAsync();
        await client.SendChunkAsync("MSGC", 5, w => w.Reserve(100));
        await client.SendChunkAsync("MSGA", 5, w =>
        {
            w.WriteStatusCode(StatusCodes.BadRequestTooLarge);
            w.WriteString(null);
        });
        await client.SendChunkAsync("MSGF", 6, RawPeer.ReadRequest(6));

        using var request = await server.ReceiveAsync(TestContext.Current.CancellationToken);

        Assert.Equal(6u, request!.RequestId);
    }

    /// <summary>OPC 10000-6, 6.7.3: the chunks of a message are sent one after the other.</summary>
    [Theory]
    [InlineData("MSGC")]
    [InlineData("MSGF")]
    [InlineData("CLOF")]
    [InlineData("CLOC")]
    [InlineData("MSGX")]
    [InlineData("OPNC")]
    public async Task A_chunk_that_has_no_place_there_ends_the_connection(string type)
    {
        var (client, server) = await RawPeer.OpenToServerAsync();
        var receive = server.ReceiveAsync(TestContext.Current.CancellationToken).AsTask();
        await client.SendChunkAsync("MSGC", 5, w => w.Reserve(100));

        await client.SendChunkAsync(type, 6, w => w.Reserve(100));

        Assert.Equal(StatusCodes.BadTcpMessageTypeInvalid, await client.ReceiveErrorAsync());
        Assert.Null(await receive.Soon());
    }

    [Fact]
    public async Task A_message_that_cannot_be_read_is_answered_by_a_fault_and_the_next_is_served()
    {
        var (client, server) = await RawPeer.OpenToServerAsync();
        var receive = server.ReceiveAsync(TestContext.Current.CancellationToken).AsTask();

        await client.SendChunkAsync("MSGF", 5, w => w.WriteByte(0xFF));
        await client.SendChunkAsync("MSGF", 6, RawPeer.ReadRequest(6));

        var (type, header) = RawPeer.ReadResponseHeader(await client.ReceiveAsync("MSG"));
        Assert.Equal(new NodeId(ServiceFault.EncodingId), type);
        Assert.Equal(StatusCodes.BadDecodingError, header.ServiceResult);
        using var request = await receive.Soon();
        Assert.Equal(6u, request!.RequestId);
    }

    [Fact]
    public async Task No_more_requests_are_taken_than_may_be_on_their_way()
    {
        var (client, _) = await RawPeer.OpenToClientAsync();
        var pending = Enumerable.Range(0, ClientChannel.MaxInFlight).Select(_ => Read(client, 1)).ToList();

        Assert.Equal(StatusCodes.BadTooManyOperations, (await Assert.ThrowsAsync<UaException>(() => Read(client, 1))).Status);

        Assert.DoesNotContain(pending, read => read.IsCompleted);
        await client.DisposeAsync();
        Assert.All(await Task.WhenAll(pending.Select(Status)), status => Assert.Equal(StatusCodes.BadConnectionClosed, status));

        static async Task<StatusCode> Status(Task read) => (await Assert.ThrowsAsync<UaException>(() => read)).Status;
    }

    private static Task<ServiceResponse<ReadResponse>> Read(ClientChannel client, int nodes) => client
        .RequestAsync<ReadRequest, ReadResponse>(Messages.Read(nodes), NodeId.Null, TimeSpan.FromSeconds(20), TestContext.Current.CancellationToken)
        .AsTask();
}
