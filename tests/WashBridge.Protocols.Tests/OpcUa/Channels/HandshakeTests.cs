using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Channels;

/// <summary>Hello, acknowledge and the first token (OPC 10000-6, 7.1.2 and 6.7.4).</summary>
public sealed class HandshakeTests
{
    /// <summary>Fields in the order of OPC 10000-6, 7.1.2.2 and 7.1.2.3.</summary>
    [Fact]
    public async Task The_hello_is_laid_out_as_the_standard_says()
    {
        var connection = MemoryConnection.Create();
        var open = RawPeer.OpenAsync(connection, ChannelPair.ClientOptions() with
        {
            Endpoint = new Uri("opc.tcp://a:1/b"),
            Limits = new TransportLimits { ReceiveBufferSize = 0x4000, SendBufferSize = 0x3000, MaxMessageSize = 0x20000, MaxChunkCount = 5 },
        });

        var hello = await connection.Server.ReadPieceAsync();

        Assert.Equal(
            "48454C46" // HELF
            + "2F000000" // size 47
            + "00000000" // version
            + "00400000" // receive
            + "00300000" // send
            + "00000200" // message
            + "05000000" // chunks
            + "0F000000" + "6F70632E7463703A2F2F613A312F62", // URL
            Convert.ToHexString(hello));
        connection.Server.Dispose();
        await Assert.ThrowsAsync<UaException>(() => open);
    }

    /// <summary>OPC 10000-6, 7.1.2.4: a side never sends more than the other receives.</summary>
    [Fact]
    public async Task The_server_acknowledges_the_smaller_buffers_and_its_own_limits()
    {
        var connection = MemoryConnection.Create();
        var accept = RawPeer.AcceptAsync(connection, ChannelPair.ServerOptions() with
        {
            Limits = new TransportLimits { ReceiveBufferSize = 30_000, SendBufferSize = 9_000, MaxMessageSize = 100_000, MaxChunkCount = 7 },
        });
        var client = new RawPeer(connection.Client);
        await client.SendHelloAsync(receive: 20_000, send: 10_000);

        var acknowledge = await client.ReceiveAsync("ACK");

        Assert.Equal([0, 10_000, 9_000, 100_000, 7], Enumerable.Range(0, 5).Select(i => BitConverter.ToInt32(acknowledge, 8 + (4 * i))));
        Assert.Equal(28, acknowledge.Length);
        client.Close();
        await Assert.ThrowsAsync<UaException>(() => accept);
    }

    [Theory]
    [InlineData("RHEF")]
    [InlineData("MSGF")]
    [InlineData("OPNF")]
    [InlineData("CLOF")]
    [InlineData("ACKF")]
    [InlineData("GET ")]
    public async Task The_server_refuses_to_begin_with_anything_but_a_hello(string type)
    {
        var connection = MemoryConnection.Create();
        var accept = RawPeer.AcceptAsync(connection);
        var client = new RawPeer(connection.Client);

        await client.SendAsync(type, w => w.WriteString("opc.tcp://localhost"));

        Assert.Equal(StatusCodes.BadTcpMessageTypeInvalid, await client.ReceiveErrorAsync());
        Assert.Null(await client.ReceiveAsync());
        Assert.Equal(StatusCodes.BadTcpMessageTypeInvalid, (await Assert.ThrowsAsync<UaException>(() => accept)).Status);
    }

    /// <summary>Only the first eight bytes come: the rest is never waited for, and no memory taken for it.</summary>
    [Theory]
    [InlineData("HELF", 8_193)]
    [InlineData("HELF", int.MaxValue)]
    [InlineData("HELF", -1)]
    public async Task A_hello_that_is_too_long_is_refused_by_its_header(string type, int size)
    {
        var connection = MemoryConnection.Create();
        var accept = RawPeer.AcceptAsync(connection);
        var client = new RawPeer(connection.Client);

        await client.SendBytesAsync([.. System.Text.Encoding.ASCII.GetBytes(type), .. BitConverter.GetBytes(size)]);

        Assert.Equal(StatusCodes.BadTcpMessageTooLarge, await client.ReceiveErrorAsync());
        await Assert.ThrowsAsync<UaException>(() => accept);
    }

    [Fact]
    public async Task Before_the_channel_is_open_a_chunk_of_the_agreed_size_is_not_accepted_yet()
    {
        var connection = MemoryConnection.Create();
        var accept = RawPeer.AcceptAsync(connection);
        var client = new RawPeer(connection.Client);
        await client.SendHelloAsync();
        await client.ReceiveAsync("ACK");

        await client.SendBytesAsync([(byte)'O', (byte)'P', (byte)'N', (byte)'F', .. BitConverter.GetBytes(60_000)]);

        Assert.Equal(StatusCodes.BadTcpMessageTooLarge, await client.ReceiveErrorAsync());
        await Assert.ThrowsAsync<UaException>(() => accept);
    }

    /// <summary>OPC 10000-6, 7.1.2.3: URLs have less than 4,096 bytes, chunks 8,192 at least.</summary>
    [Fact]
    public async Task The_server_refuses_hellos_outside_of_the_standards_bounds()
    {
        Assert.Equal(StatusCodes.BadConnectionRejected, await RefusalAsync(c => c.SendHelloAsync(receive: 8191)));
        Assert.Equal(StatusCodes.BadConnectionRejected, await RefusalAsync(c => c.SendHelloAsync(send: 0)));
        Assert.Equal(StatusCodes.BadTcpEndpointUrlInvalid, await RefusalAsync(c => c.SendHelloAsync(url: new string('x', 4097))));

        static async Task<StatusCode> RefusalAsync(Func<RawPeer, Task> hello)
        {
            var connection = MemoryConnection.Create();
            var accept = RawPeer.AcceptAsync(connection);
            var client = new RawPeer(connection.Client);
            await hello(client);
            var error = await client.ReceiveErrorAsync();
            await Assert.ThrowsAsync<UaException>(() => accept);
            return error;
        }
    }

    /// <summary>OPC 10000-4, 5.6.2.3 names the codes.</summary>
    [Fact]
    public async Task The_server_opens_no_channel_that_breaks_the_rules()
    {
        Assert.Equal(StatusCodes.BadSecurityPolicyRejected, await RefusalAsync(c => c.SendOpenAsync(1, TokenRequestType.Issue, policy: "http://opcfoundation.org/UA/SecurityPolicy#Basic128Rsa15")));
        Assert.Equal(StatusCodes.BadSecurityPolicyRejected, await RefusalAsync(c => c.SendOpenAsync(1, TokenRequestType.Issue, policy: SecurityPolicy.Basic256Sha256.Uri)));
        Assert.Equal(StatusCodes.BadSecurityModeRejected, await RefusalAsync(c => c.SendOpenAsync(1, TokenRequestType.Issue, mode: MessageSecurityMode.Sign)));
        Assert.Equal(StatusCodes.BadSecurityModeRejected, await RefusalAsync(c => c.SendOpenAsync(1, TokenRequestType.Issue, mode: MessageSecurityMode.Invalid)));
        Assert.Equal(StatusCodes.BadRequestTypeInvalid, await RefusalAsync(c => c.SendOpenAsync(1, TokenRequestType.Renew)));
        Assert.Equal(StatusCodes.BadTcpSecureChannelUnknown, await RefusalAsync(c => c.SendOpenAsync(1, TokenRequestType.Issue, channel: 5)));
        Assert.Equal(StatusCodes.BadTcpMessageTypeInvalid, await RefusalAsync(c => c.SendChunkAsync("MSGF", 1, RawPeer.ReadRequest(1))));
        Assert.Equal(StatusCodes.BadTcpMessageTypeInvalid, await RefusalAsync(c => c.SendChunkAsync("OPNC", 1, RawPeer.ReadRequest(1))));
        Assert.Equal(StatusCodes.BadTcpMessageTypeInvalid, await RefusalAsync(c => c.SendHelloAsync()));

        static async Task<StatusCode> RefusalAsync(Func<RawPeer, Task> open)
        {
            var connection = MemoryConnection.Create();
            var accept = RawPeer.AcceptAsync(connection);
            var client = new RawPeer(connection.Client);
            await client.SendHelloAsync();
            await client.ReceiveAsync("ACK");
            await open(client);
            var error = await client.ReceiveErrorAsync();
            await Assert.ThrowsAsync<UaException>(() => accept);
            return error;
        }
    }

    [Fact]
    public async Task What_the_server_says_when_it_refuses_reaches_the_caller()
    {
        var connection = MemoryConnection.Create();
        var open = RawPeer.OpenAsync(connection);
        var server = new RawPeer(connection.Server);
        await server.ReceiveAsync("HEL");

        await server.SendAsync("ERRF", w =>
        {
            w.WriteStatusCode(StatusCodes.BadTcpEndpointUrlInvalid);
            w.WriteString("no such path");
        });

        var refused = await Assert.ThrowsAsync<UaException>(() => open);
        Assert.Equal(StatusCodes.BadTcpEndpointUrlInvalid, refused.Status);
        Assert.Contains("no such path", refused.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(8191, 65_536)]
    [InlineData(65_536, 100)]
    public async Task The_client_refuses_a_server_with_chunks_smaller_than_allowed(uint receive, uint send)
    {
        var connection = MemoryConnection.Create();
        var open = RawPeer.OpenAsync(connection);
        var server = new RawPeer(connection.Server);
        await server.ReceiveAsync("HEL");

        await server.SendAcknowledgeAsync(receive, send);

        Assert.Equal(StatusCodes.BadConnectionRejected, (await Assert.ThrowsAsync<UaException>(() => open)).Status);
    }

    [Fact]
    public async Task A_server_that_says_nothing_is_given_up_after_the_time_allowed()
    {
        var time = new FakeTimeProvider();
        var connection = MemoryConnection.Create();
        var open = RawPeer.OpenAsync(connection, ChannelPair.ClientOptions() with { ConnectTimeout = TimeSpan.FromSeconds(4) }, time);
        await connection.Server.ReadPieceAsync();

        time.Advance(TimeSpan.FromSeconds(3.9));
        Assert.False(open.IsCompleted);
        time.Advance(TimeSpan.FromSeconds(0.1));

        Assert.Equal(StatusCodes.BadTimeout, (await Assert.ThrowsAsync<UaException>(() => open)).Status);
        Assert.True(connection.Client.IsDisposed);
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task A_client_that_says_nothing_is_given_up_after_the_time_allowed(bool saysHello)
    {
        var time = new FakeTimeProvider();
        var connection = MemoryConnection.Create();
        var accept = RawPeer.AcceptAsync(connection, time: time);
        var client = new RawPeer(connection.Client);
        if (saysHello)
        {
            await client.SendHelloAsync();
            await client.ReceiveAsync("ACK");
        }

        time.Advance(TimeSpan.FromSeconds(10));

        Assert.Equal(StatusCodes.BadTimeout, (await Assert.ThrowsAsync<UaException>(() => accept)).Status);
        Assert.Null(await client.ReceiveAsync());
    }

    [Fact]
    public async Task A_caller_may_give_up_opening()
    {
        using var stop = new CancellationTokenSource();
        var connection = MemoryConnection.Create();
        var open = ClientChannel.OpenAsync(
            connection.Client, ChannelPair.ClientOptions(), Microsoft.Extensions.Logging.Abstractions.NullLogger.Instance, new FakeTimeProvider(), stop.Token);
        await connection.Server.ReadPieceAsync();

        await stop.CancelAsync();

        await Assert.ThrowsAnyAsync<OperationCanceledException>(() => open);
        Assert.True(connection.Client.IsDisposed);
    }

    /// <summary>OPC 10000-6, 6.7.2.2: so that channels from before a restart are not taken for new ones.</summary>
    [Fact]
    public async Task Every_channel_has_its_own_number()
    {
        await using var one = await ChannelPair.OpenAsync();
        await using var other = await ChannelPair.OpenAsync();

        Assert.NotEqual(one.Client.ChannelId, other.Client.ChannelId);
        Assert.Equal(one.Server.ChannelId, one.Client.ChannelId);
        Assert.Equal(ChannelPair.Endpoint.OriginalString, one.Server.EndpointUrl);
    }

    /// <summary>Whatever pieces the network makes of them.</summary>
    [Theory]
    [InlineData(1)]
    [InlineData(7)]
    [InlineData(1000)]
    public async Task Chunks_are_put_together_from_any_pieces(int largestPiece)
    {
        await using var pair = await ChannelPair.OpenAsync(
            MemoryConnection.Create(largestPiece),
            ChannelPair.ClientOptions(SecurityPolicy.Basic256Sha256, MessageSecurityMode.SignAndEncrypt),
            ChannelPair.ServerOptions(SecurityPolicy.Basic256Sha256, MessageSecurityMode.SignAndEncrypt));
        var serving = pair.ServeAsync();

        foreach (var nodes in (int[])[1, 100, 5000])
        {
            Assert.Equal(nodes, (await pair.ReadAsync(nodes)).Body.Results.Count);
        }

        await pair.Client.DisposeAsync();
        await serving;
    }
}
