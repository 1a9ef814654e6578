using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>Sampling, queues, modes and filters (OPC 10000-4, 5.13 and 7.22); publishing interval 100 ms.</summary>
public sealed class MonitoredItemTests
{
    private readonly ServerFixture server = new();
    private readonly FakeConnection connection = new();

    /// <summary>5.13.1.2: the sampling interval is the fastest rate at which the variable is looked at.</summary>
    [Fact]
    public async Task No_more_than_one_value_each_sampling_interval_is_taken_the_latest()
    {
        var (session, id, variable) = await StartAsync();
        server.Monitor(session, id, variable.Id, sampling: 50);
        for (var i = 1; i <= 16; i++)
        {
            server.Advance(6);
            variable.Set((double)i);
        }

        // Set at 6, 12, 18 ... 96 ms; taken at 0, 50 and 100 ms: at 50 ms the value is that of 48 ms, at 100 ms that of 96 ms.
        Assert.Equal([0, 8, 16], Values(Next(session)));
    }

    [Fact]
    public async Task A_change_after_a_quiet_interval_is_taken_at_once()
    {
        var (session, id, variable) = await StartAsync();
        server.Monitor(session, id, variable.Id, sampling: 50);
        server.Advance(70);
        variable.Set(1.0);
        Assert.Equal([0, 1], Values(Next(session)));
    }

    [Fact]
    public async Task A_value_that_waits_for_its_sampling_interval_is_not_sent_before_that_ends()
    {
        var (session, id, variable) = await StartAsync();
        server.Monitor(session, id, variable.Id, sampling: 150);
        server.Advance(50);
        variable.Set(1.0);
        Assert.Equal([0], Values(Next(session)));
        Assert.Equal([1], Values(Next(session)));
    }

    /// <summary>5.13.1.2 and 5.13.2: 0 asks for the fastest rate, a negative one for the publishing interval.</summary>
    [Theory]
    [InlineData(0, 10)]
    [InlineData(-1, 100)]
    [InlineData(3, 10)]
    [InlineData(250, 250)]
    [InlineData(double.NaN, 10)]
    [InlineData(double.PositiveInfinity, 86_400_000)]
    public async Task The_sampling_interval_is_revised(double asked, double granted)
    {
        var (session, id, variable) = await StartAsync();
        Assert.Equal(granted, server.Monitor(session, id, variable.Id, sampling: asked).RevisedSamplingInterval);
    }

    /// <summary>5.13.1.5: the oldest goes, and the next one carries the bit; or the newest does, on the value that took its place.</summary>
    [Theory]
    [InlineData(true, new[] { 2, 3, 4 }, 0)]
    [InlineData(false, new[] { 0, 1, 4 }, 2)]
    public async Task A_full_queue_drops_and_says_so(bool discardOldest, int[] kept, int marked)
    {
        var (session, id, variable) = await StartAsync();
        server.Monitor(session, id, variable.Id, queue: 3, discardOldest: discardOldest);
        SetEach(variable, 1, 2, 3, 4);
        var response = Next(session);
        Assert.Equal(kept, Values(response));
        Assert.Equal(Enumerable.Range(0, 3).Select(i => i == marked), Items(response).Select(item => item.Value.Status.HasOverflow));
        Assert.All(Items(response), item => Assert.True(item.Value.Status.IsGood));
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_queue_of_one_holds_the_latest_value_without_a_bit(bool discardOldest)
    {
        var (session, id, variable) = await StartAsync();
        Assert.Equal(1u, server.Monitor(session, id, variable.Id, queue: 0, discardOldest: discardOldest).RevisedQueueSize);
        SetEach(variable, 1, 2);
        var only = Assert.Single(Items(Next(session)));
        Assert.Equal((2.0, false), (only.Value.Value.As<double>(), only.Value.Status.HasOverflow));
    }

    /// <summary>5.13.1.3: sampling fills the queue without reporting it; disabling empties it; enabling begins with the present value.</summary>
    [Fact]
    public async Task The_mode_decides_whether_values_are_taken_and_told()
    {
        var (session, id, variable) = await StartAsync();
        var item = server.Monitor(session, id, variable.Id, mode: MonitoringMode.Sampling).MonitoredItemId;
        SetEach(variable, 1, 2);
        Assert.True(Next(session).Message.IsKeepAlive);
        SetMode(MonitoringMode.Reporting);
        Assert.Equal([0, 1, 2], Values(Next(session)));
        SetMode(MonitoringMode.Disabled);
        SetEach(variable, 3, 4);
        SetMode(MonitoringMode.Reporting);
        Assert.Equal([4], Values(Next(session)));
        SetMode(MonitoringMode.Disabled);
        SetMode(MonitoringMode.Reporting);
        Assert.Equal([4], Values(Next(session)));
        Assert.Equal([StatusCodes.BadMonitoredItemIdInvalid], server.Subscriptions.SetMonitoringMode(session, new SetMonitoringModeRequest(id, MonitoringMode.Disabled, [item + 1])).Results);

        void SetMode(MonitoringMode mode) =>
            Assert.Equal([StatusCodes.Good], server.Subscriptions.SetMonitoringMode(session, new SetMonitoringModeRequest(id, mode, [item])).Results);
    }

    [Fact]
    public async Task A_smaller_queue_keeps_what_fits()
    {
        var (session, id, variable) = await StartAsync();
        var item = server.Monitor(session, id, variable.Id, queue: 5).MonitoredItemId;
        SetEach(variable, 1, 2, 3, 4);
        var modified = server.Subscriptions.ModifyItems(session, new ModifyMonitoredItemsRequest(
            id, TimestampsToReturn.Neither, [new MonitoredItemModifyRequest(item, new MonitoringParameters(77, 20, default, 2, true)), new MonitoredItemModifyRequest(item + 9, new MonitoringParameters(1, 1, default, 1, true))]));
        Assert.Equal([StatusCodes.Good, StatusCodes.BadMonitoredItemIdInvalid], modified.Results.Select(result => result.Status));
        Assert.Equal((20.0, 2u), (modified.Results[0].RevisedSamplingInterval, modified.Results[0].RevisedQueueSize));
        var response = Next(session);
        Assert.Equal([3, 4], Values(response));
        Assert.All(Items(response), notification => Assert.Equal((77u, null, null), (notification.ClientHandle, notification.Value.SourceTimestamp, notification.Value.ServerTimestamp)));
    }

    [Fact]
    public async Task Deleted_items_report_no_more()
    {
        var (session, id, variable) = await StartAsync();
        var item = server.Monitor(session, id, variable.Id).MonitoredItemId;
        Assert.Equal([StatusCodes.Good, StatusCodes.BadMonitoredItemIdInvalid], server.Subscriptions.DeleteItems(session, new DeleteMonitoredItemsRequest(id, [item, item])).Results);
        SetEach(variable, 1);
        Assert.True(Next(session).Message.IsKeepAlive);
    }

    /// <summary>OPC 10000-4, 5.13.1.1: an item outlives its node.</summary>
    [Fact]
    public async Task A_node_that_is_removed_is_reported_and_goes_on_when_it_is_back()
    {
        var (session, id, variable) = await StartAsync();
        server.Monitor(session, id, variable.Id);
        Assert.Equal([0], Values(Next(session)));
        server.Space.Remove(variable);
        Assert.Equal(StatusCodes.BadNodeIdUnknown, Assert.Single(Items(Next(session))).Value.Status);
        server.Variable("V").Set(5.0);
        var back = Items(Next(session));
        Assert.Equal([StatusCodes.BadWaitingForInitialData, StatusCodes.Good], back.Select(item => item.Value.Status));
        Assert.Equal(5.0, back[1].Value.Value.As<double>());
        Assert.Equal(StatusCodes.BadNodeIdUnknown, server.Monitor(session, id, server.Id("never")).Status);
    }

    [Fact]
    public async Task Computed_values_and_other_attributes_are_looked_at()
    {
        var (session, id, variable) = await StartAsync();
        server.Monitor(session, id, new NodeId(2258), sampling: 100, handle: 1);
        server.Monitor(session, id, variable.Id, attribute: AttributeIds.DisplayName, handle: 2);
        server.Monitor(session, id, server.Space.Objects.Id, attribute: AttributeIds.NodeClass, handle: 3);
        Assert.Equal(StatusCodes.BadAttributeIdInvalid, server.Monitor(session, id, server.Space.Objects.Id).Status);
        var first = Items(Next(session));
        Assert.Equal([1u, 1u, 2u, 3u], first.Select(item => item.ClientHandle));
        Assert.Equal(ServerFixture.Start.AddMilliseconds(100), first[1].Value.Value.As<DateTime>());
        server.Space.Remove(variable);
        var second = Items(Next(session));
        Assert.Equal([1u, 2u], second.Select(item => item.ClientHandle));
        Assert.Equal(StatusCodes.BadNodeIdUnknown, second[1].Value.Status);
    }

    [Fact]
    public async Task A_part_of_an_array_is_reported_when_that_part_changes()
    {
        var (session, id, _) = await StartAsync();
        var array = server.Space.AddVariable(server.Space.Objects, server.Id("A"), "A", new VariableDefinition(BuiltInType.Int32) { ValueRank = 1, InitialValue = Variant.ArrayOf([1, 2, 3]) });
        server.Monitor(session, id, array.Id, range: "1:2");
        server.Advance(20);
        array.Set(Variant.ArrayOf([9, 2, 3]));
        server.Advance(20);
        array.Set(Variant.ArrayOf([9, 2]));
        server.Advance(20);
        array.Set(Variant.ArrayOf([9]));
        var items = Items(Next(session));
        Assert.Equal([2, 3], items[0].Value.Value.As<int[]>()!);
        Assert.Equal([2], items[1].Value.Value.As<int[]>()!);
        Assert.Equal(StatusCodes.BadIndexRangeNoData, items[2].Value.Status);
        Assert.Equal(3, items.Count);
        Assert.Equal(StatusCodes.BadIndexRangeInvalid, server.Monitor(session, id, array.Id, range: "2:1").Status);
    }

    private static IReadOnlyList<MonitoredItemNotification> Items(PublishResponse response) =>
        [.. response.Message.Notifications.OfType<DataChangeNotification>().SelectMany(change => change.Items)];

    private static int[] Values(PublishResponse response) => [.. Items(response).Select(item => (int)item.Value.Value.As<double>())];

    private void SetEach(UaVariable variable, params int[] values)
    {
        foreach (var value in values)
        {
            server.Advance(10);
            variable.Set((double)value);
        }
    }

    /// <summary>What the next publishing interval brings.</summary>
    private PublishResponse Next(Session session)
    {
        server.Publish(session, connection);
        server.Advance(100 - (server.Time.GetUtcNow().Millisecond % 100));
        return connection.TakePublish();
    }

    private async Task<(Session Session, uint Id, UaVariable Variable)> StartAsync()
    {
        var session = await server.ConnectAsync(connection);
        var variable = server.Variable("V");
        variable.Set(0.0);
        return (session, server.Subscribe(session, keepAlive: 1, lifetime: 1000).SubscriptionId, variable);
    }
}
