using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>The state table of OPC 10000-4, 5.14.1.2, row by row; publishing interval 100 ms, keep-alive every 10th, lifetime 30.</summary>
public sealed class SubscriptionStateTests
{
    private readonly ServerFixture server = new();
    private readonly FakeConnection connection = new();

    private static int[] Values(PublishResponse response) =>
        [.. response.Message.Notifications.OfType<DataChangeNotification>().SelectMany(change => change.Items).Select(item => (int)item.Value.Value.As<double>())];

    [Fact]
    public async Task Row_6_the_first_interval_brings_the_first_values()
    {
        var (session, id) = await StartAsync(watch: true);
        server.Publish(session, connection);
        server.Advance(99);
        connection.ExpectNothing();
        server.Advance(1);
        var first = connection.TakePublish();
        Assert.Equal((id, 1u, false), (first.SubscriptionId, first.Message.SequenceNumber, first.MoreNotifications));
        Assert.Equal([1u], first.AvailableSequenceNumbers);
        Assert.Equal([0], Values(first));
        Assert.Equal(ServerFixture.Start.AddMilliseconds(100), first.Message.PublishTime);
    }

    [Fact]
    public async Task Row_7_the_first_interval_brings_a_keep_alive_where_there_is_nothing_to_tell()
    {
        var (session, _) = await StartAsync(watch: false);
        server.Publish(session, connection);
        server.Advance(100);
        var first = connection.TakePublish();
        Assert.True(first.Message.IsKeepAlive);
        Assert.Equal(1u, first.Message.SequenceNumber);
        Assert.Empty(first.AvailableSequenceNumbers);
    }

    /// <summary>5.14.1.1: a keep-alive tells the number of the next message, and does not take it.</summary>
    [Fact]
    public async Task Rows_9_15_and_16_a_keep_alive_follows_every_ten_quiet_intervals()
    {
        var (session, _) = await StartAsync(watch: true);
        server.Publish(session, connection);
        server.Advance(100);
        connection.TakePublish();
        for (var round = 0; round < 3; round++)
        {
            server.Publish(session, connection);
            server.Advance(999);
            connection.ExpectNothing();
            server.Advance(1);
            var alive = connection.TakePublish();
            Assert.True(alive.Message.IsKeepAlive);
            Assert.Equal(2u, alive.Message.SequenceNumber);
        }
    }

    [Fact]
    public async Task Row_14_a_change_ends_the_quiet_at_the_next_interval()
    {
        var (session, _) = await StartAsync(watch: true);
        server.Publish(session, connection);
        server.Publish(session, connection);
        server.Advance(500);
        connection.TakePublish();
        Set(1);
        server.Advance(99);
        connection.ExpectNothing();
        server.Advance(1);
        Assert.Equal([1], Values(connection.TakePublish()));
    }

    [Fact]
    public async Task Rows_8_10_and_12_values_that_found_no_request_go_out_with_the_next_one_at_once()
    {
        var (session, _) = await StartAsync(watch: true);
        server.Advance(550);
        connection.ExpectNothing();
        server.Publish(session, connection);
        Assert.Equal([0], Values(connection.TakePublish()));
    }

    [Fact]
    public async Task Rows_8_and_11_so_does_a_keep_alive_that_found_none()
    {
        var (session, _) = await StartAsync(watch: false);
        server.Advance(100);
        server.Publish(session, connection);
        Assert.True(connection.TakePublish().Message.IsKeepAlive);
        server.Publish(session, connection);
        server.Advance(999);
        connection.ExpectNothing();
        server.Advance(1);
        Assert.True(connection.TakePublish().Message.IsKeepAlive);
    }

    [Fact]
    public async Task Row_17_a_keep_alive_that_is_due_waits_for_a_request()
    {
        var (session, _) = await StartAsync(watch: true);
        server.Publish(session, connection);
        server.Advance(100 + 1000);
        connection.TakePublish();
        server.Publish(session, connection);
        Assert.True(connection.TakePublish().Message.IsKeepAlive);
        server.Publish(session, connection);
        server.Advance(999);
        connection.ExpectNothing();
        server.Advance(1);
        Assert.True(connection.TakePublish().Message.IsKeepAlive);
    }

    [Fact]
    public async Task Rows_3_and_13_a_request_that_is_not_needed_yet_waits()
    {
        var (session, _) = await StartAsync(watch: true);
        server.Publish(session, connection);
        server.Advance(100);
        connection.TakePublish();
        server.Publish(session, connection);
        server.Advance(300);
        server.Publish(session, connection);
        connection.ExpectNothing();
    }

    [Fact]
    public async Task Row_5_what_did_not_fit_goes_out_with_the_next_request_at_once()
    {
        var (session, _) = await StartAsync(watch: true, maxNotifications: 2);
        server.Advance(50);
        for (var i = 1; i <= 4; i++)
        {
            Set(i);
            server.Advance(10);
        }

        server.Publish(session, connection);
        server.Advance(100);
        var first = connection.TakePublish();
        Assert.True(first.MoreNotifications);
        Assert.Equal([0, 1], Values(first));
        connection.ExpectNothing();
        server.Publish(session, connection);
        server.Publish(session, connection);
        var (second, third) = (connection.TakePublish(), connection.TakePublish());
        Assert.Equal([2, 3], Values(second));
        Assert.Equal([4], Values(third));
        Assert.Equal((true, false), (second.MoreNotifications, third.MoreNotifications));
        Assert.Equal([1u, 2u, 3u], third.AvailableSequenceNumbers);
    }

    [Fact]
    public async Task Row_6_as_many_messages_as_requests_are_sent_at_once_where_there_is_more()
    {
        var (session, _) = await StartAsync(watch: true, maxNotifications: 1);
        Set(1);
        server.Advance(20);
        Set(2);
        server.Publish(session, connection);
        server.Publish(session, connection);
        server.Advance(80);
        Assert.Equal([0], Values(connection.TakePublish()));
        Assert.True(connection.TakePublish().MoreNotifications);
        connection.ExpectNothing();
    }

    /// <summary>Row 19; while publishing is off, keep-alives tell that the subscription lives.</summary>
    [Fact]
    public async Task Row_19_nothing_but_keep_alives_is_sent_while_publishing_is_off_and_the_queue_after_it()
    {
        var (session, id) = await StartAsync(watch: true, isPublishing: false);
        server.Publish(session, connection);
        server.Publish(session, connection);
        server.Publish(session, connection);
        server.Advance(100);
        Assert.True(connection.TakePublish().Message.IsKeepAlive);
        Set(1);
        server.Advance(1000);
        Assert.True(connection.TakePublish().Message.IsKeepAlive);
        Assert.Equal([StatusCodes.Good, StatusCodes.BadSubscriptionIdInvalid], server.Subscriptions.SetPublishingMode(session, new SetPublishingModeRequest(true, [id, 999])).Results);
        server.Advance(100);
        Assert.Equal([0, 1], Values(connection.TakePublish()));
    }

    /// <summary>Row 27: the timer has expired 30 times without a request.</summary>
    [Fact]
    public async Task Row_27_a_subscription_that_nobody_fetches_from_ends_and_says_so_to_the_next_request()
    {
        var (session, id) = await StartAsync(watch: true);
        server.Advance(2900);
        Assert.Equal(1, server.Subscriptions.Count);
        server.Advance(100);
        Assert.Equal(0, server.Subscriptions.Count);
        server.Publish(session, connection);
        var last = connection.TakePublish();
        Assert.Equal(id, last.SubscriptionId);
        Assert.Equal(StatusCodes.BadTimeout, Assert.IsType<StatusChangeNotification>(Assert.Single(last.Message.Notifications)).Status);
        server.Publish(session, connection);
        Assert.Equal(StatusCodes.BadNoSubscription, connection.Take().Status);
    }

    /// <summary>5.14.1.2: any request for the subscription shows that the client is there.</summary>
    [Fact]
    public async Task Rows_18_19_and_20_a_request_of_any_kind_begins_the_lifetime_anew()
    {
        var (session, id) = await StartAsync(watch: true);
        server.Advance(2900);
        server.Subscriptions.Modify(session, new ModifySubscriptionRequest(id, 100, 30, 10, 0, 0));
        server.Advance(2900);
        server.Subscriptions.SetPublishingMode(session, new SetPublishingModeRequest(true, [id]));
        server.Advance(2900);
        Assert.Equal(StatusCodes.BadMessageNotAvailable, Assert.Throws<UaException>(() => server.Subscriptions.Republish(session, new RepublishRequest(id, 1))).Status);
        server.Advance(2900);
        server.Publish(session, connection);
        server.Advance(2900);
        Assert.Equal(1, server.Subscriptions.Count);
    }

    /// <summary>Rows 6, 7, 14 and 15: what is sent shows that somebody wants it.</summary>
    [Fact]
    public async Task Requests_that_wait_keep_a_subscription_alive_for_as_long_as_they_last()
    {
        var (session, _) = await StartAsync(watch: false);
        for (var i = 0; i < 6; i++)
        {
            server.Publish(session, connection);
        }

        server.Advance(100 + 5000 + 2900);
        Assert.Equal(1, server.Subscriptions.Count);
        server.Advance(100);
        Assert.Equal(0, server.Subscriptions.Count);
    }

    [Fact]
    public async Task Row_18_a_new_publishing_interval_counts_from_the_change()
    {
        var (session, id) = await StartAsync(watch: true);
        server.Publish(session, connection);
        server.Advance(90);
        Assert.Equal(500, server.Subscriptions.Modify(session, new ModifySubscriptionRequest(id, 500, 30, 10, 0, 0)).RevisedPublishingInterval);
        server.Advance(499);
        connection.ExpectNothing();
        server.Advance(1);
        connection.TakePublish();
    }

    /// <summary>Row 25; OPC 10000-4, 5.14.5: a session without subscriptions has nothing to publish.</summary>
    [Fact]
    public async Task Row_25_the_end_of_the_last_subscription_answers_the_requests_that_wait()
    {
        var (session, id) = await StartAsync(watch: true);
        server.Publish(session, connection);
        server.Publish(session, connection);
        Assert.Equal([StatusCodes.Good, StatusCodes.BadSubscriptionIdInvalid], server.Subscriptions.Delete(session, new DeleteSubscriptionsRequest([id, id])).Results);
        Assert.Equal(StatusCodes.BadNoSubscription, connection.Take().Status);
        Assert.Equal(StatusCodes.BadNoSubscription, connection.Take().Status);
        server.Advance(1000);
        connection.ExpectNothing();
    }

    /// <summary>OPC 10000-4, 5.14.2.2: priority.</summary>
    [Fact]
    public async Task Of_late_subscriptions_the_one_with_priority_is_served_first_then_who_waited_longest()
    {
        var session = await server.ConnectAsync(connection);
        var second = server.Subscribe(session, interval: 200).SubscriptionId;
        var first = server.Subscribe(session, interval: 100).SubscriptionId;
        var third = server.Subscribe(session, interval: 300).SubscriptionId;
        var preferred = server.Subscribe(session, interval: 400, priority: 9).SubscriptionId;
        for (var i = 0; i < 4; i++)
        {
            server.Advance(100);
        }

        uint[] order = [Next(), Next(), Next(), Next()];
        Assert.Equal([preferred, first, second, third], order);

        uint Next()
        {
            server.Publish(session, connection);
            return connection.TakePublish().SubscriptionId;
        }
    }

    private async Task<(Session Session, uint Id)> StartAsync(bool watch, uint maxNotifications = 0, bool isPublishing = true)
    {
        var session = await server.ConnectAsync(connection, timeout: 3_600_000);
        var id = server.Subscribe(session, maxNotifications: maxNotifications, isPublishing: isPublishing).SubscriptionId;
        server.Variable("V").Set(0.0);
        if (watch)
        {
            server.Monitor(session, id, server.Id("V"));
        }

        return (session, id);
    }

    private void Set(int value) => ((UaVariable)server.Space.Find(server.Id("V"))!).Set((double)value);
}
