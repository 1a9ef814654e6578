using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Protocols.OpcUa;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>The whole server behind a socket, asked by our own channel.</summary>
public sealed class ServerOverSocketsTests : IAsyncDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(20);

    private readonly AddressSpace space = new();
    private readonly ushort ns;
    private UaServer? server;

    public ServerOverSocketsTests() => ns = space.AddNamespace("urn:test:washer");

    private static CancellationToken Cancellation => TestContext.Current.CancellationToken;

    public async ValueTask DisposeAsync()
    {
        if (server is not null)
        {
            await server.DisposeAsync();
        }
    }

    [Fact]
    public async Task A_client_finds_the_server_and_reads_its_time()
    {
        await using var client = await ConnectAsync(new UaServerLimits());
        var endpoints = await AskAsync<GetEndpointsRequest, GetEndpointsResponse>(client, new GetEndpointsRequest(null, [], []), NodeId.Null);
        Assert.Equal(server!.Endpoint.ToString().TrimEnd('/'), endpoints.Endpoints.Single().EndpointUrl);
        var token = await LogInAsync(client);
        var read = await AskAsync<ReadRequest, ReadResponse>(client, new ReadRequest(0, TimestampsToReturn.Both, [new ReadValueId(new NodeId(2258), AttributeIds.Value, null, default)]), token);
        Assert.True(read.Results[0].Status.IsGood);
        Assert.Equal(BuiltInType.DateTime, read.Results[0].Value.Type);
        Assert.Equal((1, 1), (server.SessionCount, server.ChannelCount));
    }

    [Fact]
    public async Task Values_that_are_set_arrive_in_order_and_without_loss()
    {
        await using var client = await ConnectAsync(new UaServerLimits { MinPublishingInterval = TimeSpan.FromMilliseconds(10), MinSamplingInterval = TimeSpan.FromMilliseconds(1) });
        var variable = space.AddVariable(space.Objects, new NodeId(ns, "Counter"), "Counter", new VariableDefinition(BuiltInType.Int32) { InitialValue = 0 });
        var token = await LogInAsync(client);
        var subscription = await AskAsync<CreateSubscriptionRequest, CreateSubscriptionResponse>(client, new CreateSubscriptionRequest(10, 300, 100, 0, true, 0), token);
        var item = new MonitoredItemCreateRequest(new ReadValueId(variable.Id, AttributeIds.Value, null, default), MonitoringMode.Reporting, new MonitoringParameters(7, 0, default, 1000, true));
        var created = await AskAsync<CreateMonitoredItemsRequest, CreateMonitoredItemsResponse>(client, new CreateMonitoredItemsRequest(subscription.SubscriptionId, TimestampsToReturn.Source, [item]), token);
        Assert.True(created.Results[0].Status.IsGood);
        var setting = Task.Run(async () =>
        {
            for (var i = 1; i <= 50; i++)
            {
                variable.Set(i);
                await Task.Delay(TimeSpan.FromMilliseconds(3), TimeProvider.System, Cancellation);
            }
        });
        List<int> seen = [];
        List<SubscriptionAcknowledgement> acknowledgements = [];
        while (seen.LastOrDefault() < 50)
        {
            var published = await AskAsync<PublishRequest, PublishResponse>(client, new PublishRequest(acknowledgements), token);
            acknowledgements = [new SubscriptionAcknowledgement(published.SubscriptionId, published.Message.SequenceNumber)];
            seen.AddRange(published.Message.Notifications.OfType<DataChangeNotification>().SelectMany(change => change.Items).Select(notification => notification.Value.Value.As<int>()));
        }

        await setting;
        Assert.Equal(Enumerable.Range(0, 51), seen);
    }

    /// <summary>OPC 10000-4, 7.38.2: a service that the server does not have. Ids: OPC 10000-6, annex A.3, the binary encodings of the requests.</summary>
    [Theory]
    [InlineData(673, "Write")]
    [InlineData(712, "Call")]
    [InlineData(664, "HistoryRead")]
    [InlineData(700, "HistoryUpdate")]
    [InlineData(488, "AddNodes")]
    [InlineData(494, "AddReferences")]
    [InlineData(500, "DeleteNodes")]
    [InlineData(506, "DeleteReferences")]
    [InlineData(775, "SetTriggering")]
    [InlineData(615, "QueryFirst")]
    [InlineData(437, "RegisterServer")]
    [InlineData(397, "no request at all")]
    public async Task Every_service_that_would_change_something_is_unsupported(uint typeId, string name)
    {
        var fixture = new ServerFixture();
        var connection = new FakeConnection();
        var session = await fixture.ConnectAsync(connection);
        await fixture.Host.AnswerAsync(connection, Requests.Empty(typeId, session.AuthenticationToken), Cancellation);
        var answer = connection.Take();
        Assert.True(answer is { Body: ServiceFault } && answer.Status == StatusCodes.BadServiceUnsupported, name);
    }

    [Fact]
    public async Task A_connection_beyond_the_limit_takes_the_place_of_an_idle_one_and_of_no_other()
    {
        await using var first = await ConnectAsync(new UaServerLimits { MaxChannels = 2 });
        await LogInAsync(first);
        await using var idle = await OpenAsync();
        await using var third = await OpenAsync();
        await idle.Closed.WaitAsync(Patience, Cancellation);
        await LogInAsync(third);
        await Assert.ThrowsAnyAsync<UaException>(OpenAsync);
        Assert.False(first.Closed.IsCompleted);
    }

    [Fact]
    public async Task A_connection_on_which_nobody_logs_in_is_closed_after_a_while()
    {
        var time = new FakeTimeProvider();
        server = await UaServer.StartAsync(Options(new UaServerLimits { MaxTimeWithoutSession = TimeSpan.FromSeconds(30) }), space, time: time);
        await using var used = await OpenAsync();
        await LogInAsync(used);
        await using var idle = await OpenAsync();
        time.Advance(TimeSpan.FromSeconds(29));
        await AskAsync<GetEndpointsRequest, GetEndpointsResponse>(idle, new GetEndpointsRequest(null, [], []), NodeId.Null);
        time.Advance(TimeSpan.FromSeconds(1));
        await idle.Closed.WaitAsync(Patience, Cancellation);
        Assert.False(used.Closed.IsCompleted);
    }

    [Fact]
    public async Task A_session_goes_on_after_its_connection_was_cut()
    {
        await using var client = await ConnectAsync(new UaServerLimits());
        var token = await LogInAsync(client);
        await AskAsync<CreateSubscriptionRequest, CreateSubscriptionResponse>(client, new CreateSubscriptionRequest(1000, 300, 100, 0, true, 0), token);
        server!.DropConnections();
        await client.Closed.WaitAsync(Patience, Cancellation);
        await using var next = await OpenAsync();
        await AskAsync<ActivateSessionRequest, ActivateSessionResponse>(next, ServerFixture.Activation(), token);
        await AskAsync<ReadRequest, ReadResponse>(next, new ReadRequest(0, TimestampsToReturn.Both, [new ReadValueId(new NodeId(2258), AttributeIds.Value, null, default)]), token);
        Assert.Equal((1, 1), (server.SessionCount, server.SubscriptionCount));
        await AskAsync<CloseSessionRequest, CloseSessionResponse>(next, new CloseSessionRequest(true), token);
        Assert.Equal((0, 0), (server.SessionCount, server.SubscriptionCount));
    }

    [Fact]
    public async Task An_address_space_is_served_by_one_server_at_a_time_and_anew_after_it()
    {
        await using var client = await ConnectAsync(new UaServerLimits());
        var count = space.Count;
        await Assert.ThrowsAsync<ArgumentException>(() => UaServer.StartAsync(Options(new UaServerLimits()), space));
        await server!.DisposeAsync();
        Assert.True(space.Count < count);
        server = await UaServer.StartAsync(Options(new UaServerLimits()), space);
        Assert.Equal(count, space.Count);
        await using var again = await OpenAsync();
        await LogInAsync(again);
    }

    private static UaServerOptions Options(UaServerLimits limits) =>
        new() { Port = 0, Endpoints = [ServerEndpoint.Unprotected], AllowAnonymous = true, Limits = limits };

    private static async Task<TResponse> AskAsync<TRequest, TResponse>(ClientChannel client, TRequest body, NodeId token)
        where TRequest : IRequest<TRequest, TResponse>
        where TResponse : WashBridge.Protocols.OpcUa.Encoding.IEncodable<TResponse> =>
        (await client.RequestAsync<TRequest, TResponse>(body, token, Patience, Cancellation)).Body;

    private static async Task<NodeId> LogInAsync(ClientChannel client)
    {
        var created = await AskAsync<CreateSessionRequest, CreateSessionResponse>(client, ServerFixture.SessionRequest(), NodeId.Null);
        await AskAsync<ActivateSessionRequest, ActivateSessionResponse>(client, ServerFixture.Activation(), created.AuthenticationToken);
        return created.AuthenticationToken;
    }

    private async Task<ClientChannel> ConnectAsync(UaServerLimits limits)
    {
        server = await UaServer.StartAsync(Options(limits), space);
        return await OpenAsync();
    }

    private Task<ClientChannel> OpenAsync() => ClientChannel.OpenAsync(
        new ClientChannelOptions { Endpoint = server!.Endpoint, Policy = SecurityPolicy.None, Mode = MessageSecurityMode.None },
        NullLogger.Instance,
        TimeProvider.System,
        Cancellation);
}
