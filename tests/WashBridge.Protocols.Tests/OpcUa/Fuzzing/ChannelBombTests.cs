using System.Buffers.Binary;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Protocols.Tests.OpcUa.Channels;

namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>
/// Clients that want more of a server's channel than was agreed on: each is told the status that OPC 10000-6, 7.1.5 has for it, before the memory
/// is taken.
/// </summary>
public sealed class ChannelBombTests
{
    private static readonly TransportLimits Limits = new() { ReceiveBufferSize = 8192, MaxMessageSize = 100_000, MaxChunkCount = 40 };
    private static readonly ServerChannelOptions Options = ChannelPair.ServerOptions() with { Limits = Limits };

    private readonly RawClient client = new(new Random(1), SecurityPolicy.None, MessageSecurityMode.None, Options, new FakeTimeProvider());

    [Fact]
    public async Task A_message_of_endless_empty_chunks_is_too_large()
    {
        var receiving = Receive();
        var chunks = 0;
        for (; !receiving.IsCompleted; chunks++)
        {
            client.Line.Push(client.Chunks.One([], (byte)'C', 1));
        }

        Assert.Equal(Limits.MaxChunkCount + 1, chunks);
        await AssertEndedAsync(receiving, StatusCodes.BadTcpMessageTooLarge);
    }

    [Fact]
    public async Task A_message_of_endless_full_chunks_is_too_large()
    {
        var receiving = Receive();
        var before = GC.GetAllocatedBytesForCurrentThread();
        var body = new byte[8000];
        var sent = 0;
        for (; !receiving.IsCompleted; sent += body.Length)
        {
            client.Line.Push(client.Chunks.One(body, (byte)'C', 1));
        }

        Assert.InRange(sent, Limits.MaxMessageSize, Limits.MaxMessageSize + body.Length);
        Assert.InRange(GC.GetAllocatedBytesForCurrentThread() - before, 0, 8 * Limits.MaxMessageSize);
        await AssertEndedAsync(receiving, StatusCodes.BadTcpMessageTooLarge);
    }

    [Theory]
    [InlineData(uint.MaxValue)]
    [InlineData(0x8000_0000u)]
    [InlineData(8193u)]
    public async Task A_chunk_that_says_it_is_larger_than_agreed_is_too_large(uint size)
    {
        var receiving = Receive();
        var chunk = client.Chunks.One([1, 2, 3], (byte)'F', 1);
        BinaryPrimitives.WriteUInt32LittleEndian(chunk.AsSpan(4), size);
        client.Line.Push(chunk);
        await AssertEndedAsync(receiving, StatusCodes.BadTcpMessageTooLarge);
    }

    [Theory]
    [InlineData(0u)]
    [InlineData(7u)]
    [InlineData(23u)]
    public async Task A_chunk_that_says_it_is_shorter_than_its_headers_is_invalid(uint size)
    {
        var receiving = Receive();
        var chunk = client.Chunks.One([1, 2, 3], (byte)'F', 1);
        BinaryPrimitives.WriteUInt32LittleEndian(chunk.AsSpan(4), size);
        client.Line.Push(chunk);
        await AssertEndedAsync(receiving, StatusCodes.BadTcpMessageTypeInvalid);
    }

    [Fact]
    public void A_hello_that_says_it_is_huge_is_too_large()
    {
        client.Connect();
        var hello = RawClient.Hello();
        BinaryPrimitives.WriteUInt32LittleEndian(hello.AsSpan(4), int.MaxValue);
        client.Line.Push(hello);
        AssertRefused(StatusCodes.BadTcpMessageTooLarge);
    }

    /// <summary>An endpoint URL has at most 4,096 bytes (OPC 10000-6, 7.1.2.3).</summary>
    [Fact]
    public void A_hello_with_a_long_url_is_refused()
    {
        client.Connect();
        var hello = RawClient.Hello("opc.tcp://" + new string('a', 4000));
        BinaryPrimitives.WriteInt32LittleEndian(hello.AsSpan(28), 1_000_000);
        client.Line.Push(hello);
        AssertRefused(StatusCodes.BadTcpEndpointUrlInvalid);
    }

    [Fact]
    public void An_opening_that_says_it_is_huge_is_too_large()
    {
        client.Connect();
        client.Line.Push(RawClient.Hello());
        var open = client.OpenRequest(TokenRequestType.Issue, 0, 1);
        BinaryPrimitives.WriteUInt32LittleEndian(open.AsSpan(4), 60_000);
        client.Line.Push(open);
        AssertRefused(StatusCodes.BadTcpMessageTooLarge);
    }

    [Fact]
    public async Task A_client_that_renews_its_token_again_and_again_is_sent_away()
    {
        var receiving = Receive();
        var channel = (await client.Accepting).ChannelId;
        uint renewals = 0;
        for (; !receiving.IsCompleted; renewals++)
        {
            Assert.InRange(renewals, 0u, 100u);
            client.Line.Push(client.OpenRequest(TokenRequestType.Renew, channel, 2 + renewals));
        }

        await AssertEndedAsync(receiving, StatusCodes.BadTcpServerTooBusy);
    }

    /// <summary>The chunks are in order, so the channel goes on: only the request fails (OPC 10000-4, 5.3).</summary>
    [Fact]
    public async Task A_request_for_more_nodes_than_an_array_may_have_fails_alone()
    {
        var receiving = Receive();
        using var writer = new UaWriter();
        writer.WriteNodeId(new NodeId(ReadRequest.EncodingId));
        new RequestHeader(NodeId.Null, DateTime.UnixEpoch, 1, 0).Write(writer);
        writer.WriteDouble(0);
        writer.WriteInt32(0);
        writer.WriteInt32(int.MaxValue);
        client.Line.Push(client.Chunks.One(writer.Written, (byte)'F', 1));
        Assert.True(receiving.IsCompleted);
        using var request = await receiving ?? throw new InvalidOperationException("the channel has ended");
        Assert.Equal(StatusCodes.BadEncodingLimitsExceeded, Assert.Throws<UaException>(request.ReadBody<ReadRequest>).Status);
        Assert.False((await client.Accepting).Closed.IsCompleted);
    }

    private Task<IncomingRequest?> Receive() => client.Open().ReceiveAsync(CancellationToken.None).AsTask();

    private async Task AssertEndedAsync(Task<IncomingRequest?> receiving, StatusCode status)
    {
        Assert.True(receiving.IsCompleted);
        Assert.Null(await receiving);
        Assert.Equal(status, (await (await client.Accepting).Closed).Status);
        Assert.Equal(status, client.Error());
        Assert.True(client.Line.IsDisposed);
    }

    private void AssertRefused(StatusCode status)
    {
        Assert.Equal(status, Assert.IsType<UaException>(client.Accepting.Exception?.InnerException).Status);
        Assert.Equal(status, client.Error());
        Assert.True(client.Line.IsDisposed);
    }
}
