using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Channels;

/// <summary>Numbers of chunks, and what identifies channel and token (OPC 10000-6, 6.7.2.4 and 6.7.6).</summary>
public sealed class SequenceTests
{
    /// <summary>OPC 10000-6, 6.7.2.4: no wrap before 4,294,966,271 is passed, and below 1,024 then.</summary>
    [Fact]
    public void Numbers_wrap_where_the_standard_says()
    {
        Assert.Equal(1u, SequenceNumbers.Next(0));
        Assert.Equal(4_294_966_271u, SequenceNumbers.Next(4_294_966_270));
        Assert.Equal(4_294_966_272u, SequenceNumbers.Next(4_294_966_271));
        Assert.InRange(SequenceNumbers.Next(4_294_966_272), 0u, 1023u);
    }

    [Theory]
    [InlineData(5u, 6u, true)]
    [InlineData(5u, 5u, false)]
    [InlineData(5u, 7u, false)]
    [InlineData(5u, 4u, false)]
    [InlineData(4_294_966_271u, 1u, false)]
    [InlineData(4_294_966_272u, 0u, true)]
    [InlineData(4_294_966_272u, 1023u, true)]
    [InlineData(4_294_966_272u, 1024u, false)]
    [InlineData(4_294_966_272u, 4_294_966_273u, true)]
    [InlineData(4_294_967_295u, 0u, true)]
    [InlineData(4_294_967_295u, 1u, true)]
    [InlineData(1000u, 1u, false)]
    public void Only_the_next_number_is_accepted(uint last, uint found, bool isNext) => Assert.Equal(isNext, SequenceNumbers.IsNext(last, found));

    [Fact]
    public void Chunks_pass_from_side_to_side_across_the_wrap()
    {
        var security = new ChannelSecurity(SecurityPolicy.None, MessageSecurityMode.None);
        var token = new ChannelToken(1, null, null, TimeProvider.System.GetTimestamp(), TimeSpan.FromHours(1));
        var outgoing = new OutgoingMessages(security, 8192, 0, 0) { ChannelId = 3, LastSequence = 4_294_966_268 };
        using var incoming = new IncomingMessages(security, TransportLimits.Default, TimeProvider.System) { ChannelId = 3 };
        incoming.Use(token);
        using var message = new UaWriter();
        var numbers = new List<uint>();
        for (uint request = 1; request <= 8; request++)
        {
            OutgoingMessages.Begin(message);
            message.WriteUInt32(request);
            var chunk = outgoing.Seal(message, token, ChunkType.Message, request).ToArray();
            numbers.Add(RawPeer.SequenceOf(chunk));

            Assert.True(incoming.TryTake(ChunkHeader.Read(chunk), chunk, 0, out var taken));
            Assert.Equal(request, taken.Request);
        }

        Assert.Equal([4_294_966_269, 4_294_966_270, 4_294_966_271, 4_294_966_272], numbers[..4]);
        Assert.True(numbers[4] < 1024);
    }

    [Fact]
    public async Task Both_sides_begin_low()
    {
        var connection = MemoryConnection.Create();
        var open = RawPeer.OpenAsync(connection);
        var server = new RawPeer(connection.Server);
        await server.ReceiveAsync("HEL");
        await server.SendAcknowledgeAsync();

        // The sequence header follows the fields of the asymmetric one: URI of 47 bytes, two absent byte strings.
        var opening = await connection.Server.ReadPieceAsync();
        Assert.InRange(BitConverter.ToUInt32(opening, 12 + 4 + RawPeer.PolicyNone.Length + 4 + 4), 0u, 1023u);

        server.Close();
        await Assert.ThrowsAsync<UaException>(() => open);
    }

    [Fact]
    public async Task A_gap_from_the_server_ends_the_channel()
    {
        var (client, server) = await RawPeer.OpenToClientAsync();
        var read = client.RequestAsync<ReadRequest, ReadResponse>(Messages.Read(1), NodeId.Null, TimeSpan.FromSeconds(20), default).AsTask();
        var request = RawPeer.RequestOf(await server.ReceiveAsync("MSG"));
        server.Sequence++;

        await server.AnswerReadAsync(request, 1);

        Assert.Equal(StatusCodes.BadSequenceNumberInvalid, (await Assert.ThrowsAsync<UaException>(() => read)).Status);
        Assert.Equal(StatusCodes.BadSequenceNumberInvalid, (await client.Closed.Soon()).Status);
    }

    [Theory]
    [InlineData(-1)]
    [InlineData(1)]
    public async Task A_gap_or_a_replay_from_the_client_ends_the_channel(int step)
    {
        var (client, server) = await RawPeer.OpenToServerAsync();
        var receive = server.ReceiveAsync(TestContext.Current.CancellationToken).AsTask();
        client.Sequence = (uint)(client.Sequence + step);

        await client.SendChunkAsync("MSGF", 2, RawPeer.ReadRequest(2));

        Assert.Equal(StatusCodes.BadSequenceNumberInvalid, await client.ReceiveErrorAsync());
        Assert.Null(await receive.Soon());
    }

    [Theory]
    [InlineData(1u, 0u)]
    [InlineData(0u, 1u)]
    public async Task A_chunk_of_another_channel_or_token_ends_the_connection(uint channelOff, uint tokenOff)
    {
        var (client, server) = await RawPeer.OpenToServerAsync();
        var receive = server.ReceiveAsync(TestContext.Current.CancellationToken).AsTask();
        client.ChannelId += channelOff;
        client.TokenId += tokenOff;

        await client.SendChunkAsync("MSGF", 2, RawPeer.ReadRequest(2));

        Assert.Equal(channelOff > 0 ? StatusCodes.BadTcpSecureChannelUnknown : StatusCodes.BadSecureChannelTokenUnknown, await client.ReceiveErrorAsync());
        Assert.Null(await receive.Soon());
    }
}
