using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

/// <summary>Monitored items one by one (OPC 10000-4, 5.13).</summary>
public sealed class ItemTests
{
    [Fact]
    public void Items_are_asked_for_as_specified()
    {
        using var h = new Harness();
        h.Start(Harness.Spec(
            Harness.Item(1) with { SamplingInterval = TimeSpan.FromMilliseconds(50), QueueSize = 7, DiscardOldest = false, IndexRange = "1:2" },
            Harness.Item(2) with { SamplingInterval = TimeSpan.Zero, DeadBand = DeadBand.Percent(2.5), Trigger = DataChangeTrigger.StatusValueTimestamp },
            Harness.Item(3) with { AttributeId = AttributeIds.DisplayName }));
        var items = h.Server.RequestsOf<CreateMonitoredItemsRequest>().Single();
        Assert.Equal(TimestampsToReturn.Both, items.Timestamps);
        Assert.Equal(new ReadValueId(Harness.Node(1), AttributeIds.Value, "1:2", default), items.Items[0].Item);
        Assert.Equal(new MonitoringParameters(1, 50, default, 7, false), items.Items[0].Parameters);
        Assert.Equal((0, MonitoringMode.Reporting), (items.Items[1].Parameters.SamplingInterval, items.Items[1].Mode));
        Assert.Equal(ExtensionObject.Of(new DataChangeFilter(DataChangeTrigger.StatusValueTimestamp, DeadbandKind.Percent, 2.5)), items.Items[1].Parameters.Filter);
        Assert.Equal((-1, AttributeIds.DisplayName), (items.Items[2].Parameters.SamplingInterval, items.Items[2].Item.AttributeId));
    }

    [Fact]
    public void Revised_values_are_told()
    {
        using var h = new Harness();
        h.Server.ReviseItem = static (_, given) => given with { RevisedSamplingInterval = 250, RevisedQueueSize = 1 };
        h.Start();
        Assert.Equal(new MonitoredItemState(1, StatusCodes.Good, Harness.Node(1), TimeSpan.FromMilliseconds(250), 1), h.Listener.Item(1));
    }

    /// <summary>OPC 10000-4, 7.22.2: a percent dead band needs an EURange; a server without refuses the item.</summary>
    [Fact]
    public void A_refused_item_is_told_and_the_others_are_watched()
    {
        using var h = new Harness();
        h.Server.ReviseItem = static (item, given) => item.Parameters.Filter == default ? given : given with { Status = StatusCodes.BadMonitoredItemFilterUnsupported };
        h.Start(Harness.Spec(Harness.Item(1) with { DeadBand = DeadBand.Percent(1) }, Harness.Item(2)));
        Assert.Equal(StatusCodes.BadMonitoredItemFilterUnsupported, h.Listener.Item(1).Status);
        Assert.Equal([2], h.Listener.ValuesOf(2));
        Assert.Empty(h.Listener.ValuesOf(1));
    }

    [Fact]
    public void An_unknown_node_is_asked_for_again_until_it_is_there()
    {
        using var h = new Harness();
        h.Start(Harness.Spec(Harness.Item(1), Harness.Item(9)));
        Assert.Equal(StatusCodes.BadNodeIdUnknown, h.Listener.Item(9).Status);
        h.Run(1);
        h.Server.Nodes[Harness.Node(9)] = Harness.Value(90);
        var took = KeepAliveUntil(h, () => h.Listener.ValuesOf(9).Any());
        Assert.InRange(took, 28, 30.5);
        Assert.Equal(StatusCodes.Good, h.Listener.Item(9).Status);
        Assert.Equal(2, h.Listener.Items.Count(i => i.ClientHandle == 9));
        Assert.Single(h.Server.Subscription.Items.Values, i => i.Item.NodeId == Harness.Node(1));
    }

    [Fact]
    public void A_node_that_vanishes_is_told_and_found_again_and_the_others_go_on()
    {
        using var h = new Harness();
        var subscription = h.Start();
        h.Server.Nodes.Remove(Harness.Node(1));
        h.Server.Publish(subscription, (1, new DataValue(default, StatusCodes.BadNodeIdUnknown)), (2, Harness.Value(20)));
        h.RunAll();
        Assert.Equal(StatusCodes.BadNodeIdUnknown, h.Listener.Item(1).Status);
        Assert.Equal(StatusCodes.Good, h.Listener.Item(2).Status);
        Assert.Equal(2, h.Listener.Notifications[^1].Values.Count);
        KeepAliveUntil(h, () => h.Server.RequestsOf<DeleteMonitoredItemsRequest>().Any());
        h.Server.Nodes[Harness.Node(1)] = Harness.Value(11);
        KeepAliveUntil(h, () => h.Listener.ValuesOf(1).Contains(11));
        Assert.Equal(StatusCodes.Good, h.Listener.Item(1).Status);
        Assert.Equal(2, subscription.Items.Count);
        Assert.Empty(h.Listener.Interrupted);
    }

    [Fact]
    public void A_node_that_comes_back_by_itself_is_told_too()
    {
        using var h = new Harness();
        var subscription = h.Start();
        h.Server.Publish(subscription, (1, new DataValue(default, StatusCodes.BadNodeIdUnknown)));
        h.Server.Publish(subscription, (1, Harness.Value(11)));
        h.RunAll();
        Assert.Equal([StatusCodes.Good, StatusCodes.BadNodeIdUnknown, StatusCodes.Good], h.Listener.Items.Where(i => i.ClientHandle == 1).Select(i => i.Status));
        KeepAliveUntil(h, () => h.Time.GetElapsedTime(0) > TimeSpan.FromSeconds(40));
        Assert.Empty(h.Server.RequestsOf<DeleteMonitoredItemsRequest>());
    }

    [Fact]
    public void Items_go_in_batches_of_what_the_server_takes()
    {
        using var h = new Harness();
        h.Server.MaxOperations = 7;
        h.Start(Many(h, 20));
        Assert.Equal([7, 7, 6], h.Server.RequestsOf<CreateMonitoredItemsRequest>().Select(r => r.Items.Count));
        Assert.Equal(20, h.Server.Subscription.Items.Count);
    }

    [Fact]
    public void A_limit_that_the_server_does_not_tell_is_found_and_remembered()
    {
        using var h = new Harness();
        h.Server.MaxOperations = 7;
        h.Server.TellsLimits = false;
        h.Start(Many(h, 20));
        Assert.Equal([20, 10, 5, 5, 5, 5], h.Server.RequestsOf<CreateMonitoredItemsRequest>().Select(r => r.Items.Count));
        Assert.Equal(5, h.Connection.Session!.Limits.MaxMonitoredItemsPerCall);
    }

    [Fact]
    public void A_path_is_followed_to_its_node()
    {
        using var h = new Harness();
        h.Server.Paths["Objects/2:Washer/2:Temperature"] = [Harness.Node(3)];
        h.Server.Paths["Objects/2:Twins"] = [Harness.Node(3), Harness.Node(4)];
        h.Start(Harness.Spec(
            new MonitoredItemSpec { ClientHandle = 1, Node = NodeAddress.Parse("/Objects/2:Washer.2:Temperature") },
            new MonitoredItemSpec { ClientHandle = 2, Node = NodeAddress.Parse("/Objects/2:Twins") },
            new MonitoredItemSpec { ClientHandle = 3, Node = NodeAddress.Parse("/Objects/2:Nowhere") },
            new MonitoredItemSpec { ClientHandle = 4, Node = NodeAddress.Parse("nsu=urn:unknown;s=V1") }));
        Assert.Equal(
            [StatusCodes.Good, StatusCodes.BadTooManyMatches, StatusCodes.BadNoMatch, StatusCodes.BadNodeIdUnknown],
            Enumerable.Range(1, 4).Select(i => h.Listener.Item((uint)i).Status));
        Assert.Equal([3], h.Listener.ValuesOf(1));
        var path = h.Server.RequestsOf<TranslateBrowsePathsRequest>().Single().Paths[0];
        Assert.Equal([33u, 33u, 44u], path.Elements.Select(e => e.ReferenceTypeId.Number));
    }

    [Fact]
    public void Two_items_with_one_handle_are_refused_with_both_named()
    {
        using var h = new Harness();
        var e = Assert.Throws<ArgumentException>(() => h.Subscribe(Harness.Spec(Harness.Item(1), Harness.Item(1))));
        Assert.Contains("two items have the handle 1", e.Message, StringComparison.Ordinal);
    }

    private static SubscriptionSpec Many(Harness h, uint count)
    {
        for (uint i = 1; i <= count; i++)
        {
            h.Server.Nodes[Harness.Node(i)] = Harness.Value(i);
        }

        return Harness.Spec([.. Enumerable.Range(1, (int)count).Select(i => Harness.Item((uint)i))]);
    }

    /// <returns>Seconds.</returns>
    private static double KeepAliveUntil(Harness h, Func<bool> isSo)
    {
        for (var seconds = 0; seconds < 120; seconds++)
        {
            h.Server.KeepAlive(h.Server.Subscription);
            h.Run(1);
            if (isSo())
            {
                return seconds + 1;
            }
        }

        throw new Xunit.Sdk.XunitException("it did not happen within 2 min");
    }
}
