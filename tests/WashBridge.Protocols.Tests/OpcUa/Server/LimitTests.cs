using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>Every limit has its status code (OPC 10000-4, the tables of the services), and clients can read it (OPC 10000-5, 6.3.2 and 6.3.11).</summary>
public sealed class LimitTests
{
    private static readonly UaServerLimits Limits = new()
    {
        MaxSessions = 11,
        MaxSubscriptionsPerSession = 2,
        MaxSubscriptions = 3,
        MaxMonitoredItemsPerSubscription = 4,
        MaxMonitoredItems = 6,
        MaxQueueSize = 7,
        MaxQueuedValuesPerSubscription = 10,
        MaxBrowseContinuationPoints = 12,
        MaxNodesPerRead = 5,
        MaxNodesPerBrowse = 8,
        MaxNodesPerTranslate = 9,
        MaxNodesPerRegister = 10,
        MaxMonitoredItemsPerCall = 3,
        MinSamplingInterval = TimeSpan.FromMilliseconds(25),
    };

    private readonly ServerFixture server = new(Limits);
    private readonly FakeConnection connection = new();

    private static CancellationToken Cancellation => TestContext.Current.CancellationToken;

    /// <summary>Node ids: OPC 10000-6, annex A.3.</summary>
    [Theory]
    [InlineData(24095, "MaxSessions", 11)]
    [InlineData(24096, "MaxSubscriptions", 3)]
    [InlineData(24097, "MaxMonitoredItems", 6)]
    [InlineData(24098, "MaxSubscriptionsPerSession", 2)]
    [InlineData(24104, "MaxMonitoredItemsPerSubscription", 4)]
    [InlineData(31916, "MaxMonitoredItemsQueueSize", 7)]
    [InlineData(2735, "MaxBrowseContinuationPoints", 12)]
    [InlineData(2736, "MaxQueryContinuationPoints", 0)]
    [InlineData(2272, "MinSupportedSampleRate", 25)]
    [InlineData(11705, "MaxNodesPerRead", 5)]
    [InlineData(11710, "MaxNodesPerBrowse", 8)]
    [InlineData(11711, "MaxNodesPerRegisterNodes", 10)]
    [InlineData(11712, "MaxNodesPerTranslateBrowsePathsToNodeIds", 9)]
    [InlineData(11714, "MaxMonitoredItemsPerCall", 3)]
    public void Limits_are_published(uint id, string name, double expected)
    {
        var variable = Assert.IsType<UaVariable>(server.Space.Find(new NodeId(id)));
        Assert.Equal(name, variable.BrowseName.Name);
        Assert.True(variable.Current.Value.TryGetNumber(out var number));
        Assert.Equal(expected, number);
    }

    [Fact]
    public async Task Too_long_and_empty_lists_are_refused()
    {
        var session = await server.ConnectAsync(connection);
        var subscription = server.Subscribe(session).SubscriptionId;
        var view = new ViewDescription(default, default, 0);
        await ChecksAsync(5, n => new ReadRequest(0, TimestampsToReturn.Both, Many(n, new ReadValueId(new NodeId(2258), 13, null, default))));
        await ChecksAsync(8, n => new BrowseRequest(view, 0, Many(n, new BrowseDescription(new NodeId(84), BrowseDirection.Forward, default, true, 0, 63))));
        await ChecksAsync(8, n => new BrowseNextRequest(false, Many(n, new byte[8])));
        await ChecksAsync(9, n => new TranslateBrowsePathsRequest(Many(n, new BrowsePath(new NodeId(84), []))));
        await ChecksAsync(10, n => new RegisterNodesRequest(Many(n, new NodeId(84))));
        await ChecksAsync(10, n => new UnregisterNodesRequest(Many(n, new NodeId(84))));
        await ChecksAsync(3, n => new CreateMonitoredItemsRequest(subscription, TimestampsToReturn.Both, Many(n, Item("nowhere"))));
        await ChecksAsync(3, n => new ModifyMonitoredItemsRequest(subscription, TimestampsToReturn.Both, Many(n, new MonitoredItemModifyRequest(1, Item("x").Parameters))));
        await ChecksAsync(3, n => new SetMonitoringModeRequest(subscription, MonitoringMode.Disabled, Many(n, 1u)));
        await ChecksAsync(3, n => new DeleteMonitoredItemsRequest(subscription, Many(n, 1u)));
        await ChecksAsync(2, n => new SetPublishingModeRequest(true, Many(n, 999u)));
        await ChecksAsync(2, n => new DeleteSubscriptionsRequest(Many(n, 999u)));
        await ChecksAsync(2, n => new TransferSubscriptionsRequest(Many(n, 999u), false));

        static T[] Many<T>(int count, T one) => [.. Enumerable.Repeat(one, count)];

        async Task ChecksAsync<T>(int limit, Func<int, T> request)
            where T : WashBridge.Protocols.OpcUa.Encoding.IEncodable<T>
        {
            foreach (var (count, expected) in new[] { (0, StatusCodes.BadNothingToDo), (limit, StatusCodes.Good), (limit + 1, StatusCodes.BadTooManyOperations) })
            {
                using var incoming = Requests.Of(request(count), session.AuthenticationToken);
                await server.Host.AnswerAsync(connection, incoming, Cancellation);
                Assert.Equal((typeof(T).Name, count, expected), (typeof(T).Name, count, connection.Take().Status));
            }
        }
    }

    [Fact]
    public async Task There_are_only_so_many_subscriptions_in_a_session_and_in_all()
    {
        var (first, second) = (await server.ConnectAsync(connection), await server.ConnectAsync(connection));
        server.Subscribe(first);
        server.Subscribe(first);
        Fault(StatusCodes.BadTooManySubscriptions, () => server.Subscribe(first));
        server.Subscribe(second);
        Fault(StatusCodes.BadTooManySubscriptions, () => server.Subscribe(second));
        server.Subscriptions.Delete(first, new DeleteSubscriptionsRequest([1]));
        server.Subscribe(second);
    }

    [Fact]
    public async Task There_are_only_so_many_items_in_a_subscription_and_in_all()
    {
        var session = await server.ConnectAsync(connection);
        var (first, second) = (server.Subscribe(session).SubscriptionId, server.Subscribe(session).SubscriptionId);
        server.Variable("V").Set(1.0);
        Assert.All(Enumerable.Range(0, 4), _ => Assert.Equal(StatusCodes.Good, Monitor(first)));
        Assert.Equal(StatusCodes.BadTooManyMonitoredItems, Monitor(first));
        Assert.Equal([StatusCodes.Good, StatusCodes.Good, StatusCodes.BadTooManyMonitoredItems], [Monitor(second), Monitor(second), Monitor(second)]);
        server.Subscriptions.Delete(session, new DeleteSubscriptionsRequest([first]));
        Assert.Equal(StatusCodes.Good, Monitor(second));

        StatusCode Monitor(uint subscription) => server.Monitor(session, subscription, server.Id("V"), queue: 1).Status;
    }

    [Fact]
    public async Task Queues_share_what_a_subscription_may_hold()
    {
        var session = await server.ConnectAsync(connection);
        var id = server.Subscribe(session).SubscriptionId;
        server.Variable("V").Set(1.0);
        Assert.Equal([7u, 3u, 1u], new[] { 1000u, 7u, 7u }.Select(wanted => server.Monitor(session, id, server.Id("V"), queue: wanted).RevisedQueueSize));
    }

    /// <summary>5.14.2.2: the lifetime is at least three keep-alives, and the intervals are within what the server can do.</summary>
    [Theory]
    [InlineData(0, 0, 0, 20, 30, 10)]
    [InlineData(double.NaN, 0, 1, 20, 3, 1)]
    [InlineData(100, 20, 10, 100, 30, 10)]
    [InlineData(100, 4_000_000_000, 4_000_000_000, 100, 36_000, 12_000)]
    [InlineData(1e300, 100, 100, 3_600_000, 3, 1)]
    [InlineData(-5, 100, 20, 20, 100, 20)]
    public void What_a_subscription_asks_for_is_revised(double interval, uint lifetime, uint keepAlive, double grantedInterval, uint grantedLifetime, uint grantedKeepAlive)
    {
        var granted = SubscriptionSettings.Revise(interval, lifetime, keepAlive, 0, 0, new UaServerLimits());
        Assert.Equal((grantedInterval, grantedLifetime, grantedKeepAlive), (granted.PublishingInterval.TotalMilliseconds, granted.LifetimeCount, granted.KeepAliveCount));
    }

    [Theory]
    [InlineData(nameof(UaServerLimits.MaxSessions))]
    [InlineData(nameof(UaServerLimits.MaxQueueSize))]
    [InlineData(nameof(UaServerLimits.MaxNodesPerRead))]
    [InlineData(nameof(UaServerLimits.MaxChannels))]
    public void A_limit_out_of_range_is_refused_by_name(string name)
    {
        var limits = new UaServerLimits();
        typeof(UaServerLimits).GetProperty(name)!.SetValue(limits, 0);
        Assert.Equal(name, Assert.Throws<ArgumentOutOfRangeException>(limits.Validate).ParamName);
    }

    private static void Fault(StatusCode expected, Action call) => Assert.Equal(expected, Assert.Throws<UaException>(call).Status);

    private MonitoredItemCreateRequest Item(string name) =>
        new(new ReadValueId(server.Id(name), AttributeIds.Value, null, default), MonitoringMode.Reporting, new MonitoringParameters(1, 100, default, 1, true));
}
