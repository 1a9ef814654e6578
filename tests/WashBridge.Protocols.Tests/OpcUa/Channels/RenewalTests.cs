using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Channels;

/// <summary>Tokens and their renewal (OPC 10000-4, 5.6.2.1; OPC 10000-6, 6.7.4).</summary>
public sealed class RenewalTests
{
    private readonly FakeTimeProvider time = new(new DateTimeOffset(2030, 1, 1, 0, 0, 0, TimeSpan.Zero));

    /// <summary>OPC 10000-4, 5.6.2.1: after 75 % of the revised lifetime.</summary>
    [Fact]
    public async Task The_client_renews_when_three_quarters_of_what_the_server_grants_have_passed()
    {
        var (client, server) = await RawPeer.OpenToClientAsync(time: time, lifetime: 40_000);
        var next = server.ReceiveAsync("OPN");

        time.Advance(TimeSpan.FromSeconds(29.9));
        Assert.False(next.IsCompleted);
        time.Advance(TimeSpan.FromSeconds(0.1));

        await next;
        await client.DisposeAsync();
    }

    [Fact]
    public async Task A_channel_whose_renewal_is_not_answered_ends_with_its_token()
    {
        var (client, server) = await RawPeer.OpenToClientAsync(time: time, lifetime: 40_000);
        time.Advance(TimeSpan.FromSeconds(30));
        await server.ReceiveAsync("OPN");

        time.Advance(TimeSpan.FromSeconds(9.9));
        Assert.False(client.Closed.IsCompleted);
        time.Advance(TimeSpan.FromSeconds(0.2));

        Assert.Equal(StatusCodes.BadTimeout, (await client.Closed.Soon()).Status);
    }

    [Fact]
    public async Task The_client_uses_the_new_token_at_once_and_goes_on_counting()
    {
        var (client, server) = await RawPeer.OpenToClientAsync(time: time, lifetime: 40_000);
        var before = Read(client);
        var first = await server.ReceiveAsync("MSG");
        time.Advance(TimeSpan.FromSeconds(30));
        await server.AnswerOpenAsync(40_000, token: 9);

        // Answers under the old token may still be on their way.
        server.TokenId = 1;
        await server.AnswerReadAsync(RawPeer.RequestOf(first), 4);
        Assert.Equal(4u, (await before).Body.Results[0].Value.Value);
        var after = Read(client);
        var second = await server.ReceiveAsync("MSG");
        server.TokenId = 9;
        await server.AnswerReadAsync(RawPeer.RequestOf(second), 5);

        Assert.Equal(5u, (await after).Body.Results[0].Value.Value);
        Assert.Equal(1u, RawPeer.TokenOf(first));
        Assert.Equal(9u, RawPeer.TokenOf(second));
        Assert.Equal(RawPeer.SequenceOf(first) + 2, RawPeer.SequenceOf(second)); // the renewal was between them
        await client.DisposeAsync();
    }

    /// <summary>OPC 10000-4, 5.6.2.1: expired tokens are good for 25 % of their life more.</summary>
    [Theory]
    [InlineData(49.9, true)]
    [InlineData(50.1, false)]
    public async Task The_client_takes_answers_under_an_old_token_a_quarter_of_its_life_after_it_has_expired(double secondsAfterIssue, bool isTaken)
    {
        var (client, server) = await RawPeer.OpenToClientAsync(time: time, lifetime: 40_000);
        var read = Read(client);
        var request = RawPeer.RequestOf(await server.ReceiveAsync("MSG"));
        time.Advance(TimeSpan.FromSeconds(30));
        await server.AnswerOpenAsync(400_000, token: 2);
        await ProbeAsync(client, server);
        time.Advance(TimeSpan.FromSeconds(secondsAfterIssue - 30));

        server.TokenId = 1;
        await server.AnswerReadAsync(request, 4);

        if (isTaken)
        {
            Assert.Equal(4u, (await read).Body.Results[0].Value.Value);
            await client.DisposeAsync();
        }
        else
        {
            Assert.Equal(StatusCodes.BadSecureChannelTokenUnknown, (await client.Closed.Soon()).Status);
            await Assert.ThrowsAsync<UaException>(() => read);
        }
    }

    /// <summary>OPC 10000-4, 5.6.2.1.</summary>
    [Fact]
    public async Task The_server_answers_under_the_old_token_until_the_client_has_used_the_new_one()
    {
        var (client, server) = await RawPeer.OpenToServerAsync(time: time, lifetime: 40_000);
        var oldToken = client.TokenId;
        await client.SendOpenAsync(2, TokenRequestType.Renew, 40_000, client.ChannelId);
        await client.SendChunkAsync("MSGF", 3, RawPeer.ReadRequest(3));
        using var first = await server.ReceiveAsync(TestContext.Current.CancellationToken);
        await server.SendFaultAsync(3, 3, StatusCodes.BadNothingToDo, TestContext.Current.CancellationToken);

        var renewed = await client.TakeTokenAsync();
        Assert.NotEqual(oldToken, renewed.TokenId);
        Assert.Equal(oldToken, RawPeer.TokenOf(await client.ReceiveAsync("MSG")));

        await client.SendChunkAsync("MSGF", 4, RawPeer.ReadRequest(4));
        using var second = await server.ReceiveAsync(TestContext.Current.CancellationToken);
        await server.SendFaultAsync(4, 4, StatusCodes.BadNothingToDo, TestContext.Current.CancellationToken);
        Assert.Equal(renewed.TokenId, RawPeer.TokenOf(await client.ReceiveAsync("MSG")));
    }

    [Fact]
    public async Task The_server_uses_the_new_token_once_the_old_one_has_expired()
    {
        var (client, server) = await RawPeer.OpenToServerAsync(time: time, lifetime: 40_000);
        var receive = server.ReceiveAsync(TestContext.Current.CancellationToken).AsTask();
        await client.SendOpenAsync(2, TokenRequestType.Renew, 400_000, client.ChannelId);
        var renewed = await client.TakeTokenAsync();

        time.Advance(TimeSpan.FromSeconds(40.1));
        await server.SendFaultAsync(3, 3, StatusCodes.BadNothingToDo, TestContext.Current.CancellationToken);

        Assert.Equal(renewed.TokenId, RawPeer.TokenOf(await client.ReceiveAsync("MSG")));
        await server.DisposeAsync();
        Assert.Null(await receive.Soon());
    }

    [Theory]
    [InlineData(49.9, true)]
    [InlineData(50.1, false)]
    public async Task The_server_takes_requests_under_an_expired_token_for_a_quarter_of_its_life(double seconds, bool isTaken)
    {
        var (client, server) = await RawPeer.OpenToServerAsync(time: time, lifetime: 40_000);
        var oldToken = client.TokenId;
        var receive = server.ReceiveAsync(TestContext.Current.CancellationToken).AsTask();
        await client.SendOpenAsync(2, TokenRequestType.Renew, 400_000, client.ChannelId);
        await client.TakeTokenAsync();
        time.Advance(TimeSpan.FromSeconds(seconds));
        client.TokenId = oldToken;

        await client.SendChunkAsync("MSGF", 3, RawPeer.ReadRequest(3));

        using var request = await receive.Soon();
        Assert.Equal(isTaken, request is not null);
    }

    [Fact]
    public async Task A_client_that_does_not_renew_is_sent_away()
    {
        var (client, server) = await RawPeer.OpenToServerAsync(time: time, lifetime: 40_000);
        var receive = server.ReceiveAsync(TestContext.Current.CancellationToken).AsTask();

        time.Advance(TimeSpan.FromSeconds(50));

        Assert.Null(await receive.Soon());
        Assert.Null(await client.ReceiveAsync());
        Assert.Equal(StatusCodes.BadSecureChannelTokenUnknown, (await server.Closed.Soon()).Status);
    }

    [Theory]
    [InlineData(0u, 3_600_000u)]
    [InlineData(1u, 10_000u)]
    [InlineData(20_000u, 20_000u)]
    [InlineData(uint.MaxValue, 3_600_000u)]
    public async Task The_server_grants_lifetimes_within_its_bounds(uint asked, uint granted)
    {
        var connection = MemoryConnection.Create();
        var accept = RawPeer.AcceptAsync(connection);
        var client = new RawPeer(connection.Client);
        await client.SendHelloAsync();
        await client.ReceiveAsync("ACK");
        await client.SendOpenAsync(1, TokenRequestType.Issue, asked);

        Assert.Equal(granted, (await client.TakeTokenAsync()).RevisedLifetime);
        await (await accept).DisposeAsync();
    }

    [Fact]
    public async Task A_flood_of_renewals_is_cut_off()
    {
        var (client, server) = await RawPeer.OpenToServerAsync(time: time);
        var receive = server.ReceiveAsync(TestContext.Current.CancellationToken).AsTask();
        for (uint i = 0; i < 5; i++)
        {
            await client.SendOpenAsync(2 + i, TokenRequestType.Renew, 40_000, client.ChannelId);
        }

        for (var i = 0; i < 4; i++)
        {
            await client.ReceiveAsync("OPN");
        }

        Assert.Equal(StatusCodes.BadTcpServerTooBusy, await client.ReceiveErrorAsync());
        Assert.Null(await receive.Soon());
    }

    [Fact]
    public async Task A_renewal_may_change_nothing_but_the_keys()
    {
        Assert.Equal(StatusCodes.BadRequestTypeInvalid, await RefusalAsync(c => c.SendOpenAsync(2, TokenRequestType.Issue, channel: c.ChannelId)));
        Assert.Equal(StatusCodes.BadTcpSecureChannelUnknown, await RefusalAsync(c => c.SendOpenAsync(2, TokenRequestType.Renew, channel: c.ChannelId + 1)));
        Assert.Equal(StatusCodes.BadSecurityPolicyRejected, await RefusalAsync(c => c.SendOpenAsync(2, TokenRequestType.Renew, channel: c.ChannelId, policy: SecurityPolicy.Basic256Sha256.Uri)));
        Assert.Equal(StatusCodes.BadSecurityModeRejected, await RefusalAsync(c => c.SendOpenAsync(2, TokenRequestType.Renew, channel: c.ChannelId, mode: MessageSecurityMode.Sign)));

        static async Task<StatusCode> RefusalAsync(Func<RawPeer, Task> renew)
        {
            var (client, server) = await RawPeer.OpenToServerAsync();
            var receive = server.ReceiveAsync(TestContext.Current.CancellationToken).AsTask();
            await renew(client);
            var error = await client.ReceiveErrorAsync();
            Assert.Null(await receive.Soon());
            return error;
        }
    }

    [Fact]
    public async Task A_token_that_nobody_asked_for_ends_the_channel()
    {
        var (client, server) = await RawPeer.OpenToClientAsync();

        await server.SendOpenChunkAsync(server.ChannelId, RawPeer.PolicyNone, null, null, w =>
        {
            w.WriteUInt32(++server.Sequence);
            w.WriteUInt32(1);
            w.WriteNodeId(new NodeId(OpenSecureChannelResponse.EncodingId));
            new ResponseHeader(default, 1, StatusCodes.Good).Write(w);
            new OpenSecureChannelResponse(0, new ChannelSecurityToken(server.ChannelId, 2, default, 10_000), null).Write(w);
        });

        Assert.Equal(StatusCodes.BadUnknownResponse, (await client.Closed.Soon()).Status);
    }

    /// <summary>Forty renewals under fresh keys while requests of all sizes are on their way: none is lost, none fails.</summary>
    [Theory]
    [InlineData("None", MessageSecurityMode.None)]
    [InlineData("Basic256Sha256", MessageSecurityMode.SignAndEncrypt)]
    [InlineData("Aes256_Sha256_RsaPss", MessageSecurityMode.Sign)]
    public async Task Renewals_disturb_no_request(string name, MessageSecurityMode mode)
    {
        var found = SecurityPolicy.FindByName(name)!;
        await using var pair = await ChannelPair.OpenAsync(found.IsNone ? null : found, mode, time);
        var renewals = 0;
        var serving = pair.ServeAsync();
        var stop = false;
        var reading = Enumerable.Range(1, 4).Select(ReadAsync).ToArray();

        for (var i = 0; i < 40; i++)
        {
            time.Advance(TimeSpan.FromHours(0.76));
            await pair.ReadAsync(50, Timeout.InfiniteTimeSpan);
            await pair.ReadAsync(50, Timeout.InfiniteTimeSpan);
            renewals++;
        }

        stop = true;
        Assert.All(await Task.WhenAll(reading), reads => Assert.True(reads > 0));
        Assert.False(pair.Client.Closed.IsCompleted);
        Assert.Equal(40, renewals);
        await pair.Client.DisposeAsync();
        await serving;

        async Task<int> ReadAsync(int worker)
        {
            var reads = 0;
            for (; !Volatile.Read(ref stop); reads++)
            {
                var nodes = 1 + ((reads * 997 * worker) % 3000);
                Assert.Equal(nodes, (await pair.ReadAsync(nodes, Timeout.InfiniteTimeSpan)).Body.Results.Count);
            }

            return reads;
        }
    }

    private static async Task ProbeAsync(ClientChannel client, RawPeer server)
    {
        var probe = Read(client);
        await server.AnswerReadAsync(RawPeer.RequestOf(await server.ReceiveAsync("MSG")), 1);
        await probe;
    }

    private static Task<ServiceResponse<ReadResponse>> Read(ClientChannel client) => client
        .RequestAsync<ReadRequest, ReadResponse>(Messages.Read(1), NodeId.Null, Timeout.InfiniteTimeSpan, TestContext.Current.CancellationToken)
        .AsTask();
}
