using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>Publish requests, acknowledgements, retransmission and transfer (OPC 10000-4, 5.14.5 to 5.14.7).</summary>
public sealed class PublishingTests
{
    private readonly FakeConnection connection = new();

    /// <summary>5.14.5.1: the oldest request is taken out and answered.</summary>
    [Fact]
    public async Task The_oldest_of_too_many_requests_is_answered()
    {
        var server = new ServerFixture(new UaServerLimits { MaxPublishRequestsPerSession = 2 });
        var session = await server.ConnectAsync(connection);
        server.Subscribe(session);
        var first = server.Publish(session, connection);
        server.Publish(session, connection);
        connection.ExpectNothing();
        server.Publish(session, connection);
        var answer = connection.Take();
        Assert.Equal((first, StatusCodes.BadTooManyPublishRequests), (answer.RequestId, answer.Status));
        connection.ExpectNothing();
    }

    [Fact]
    public async Task A_request_that_the_client_has_given_up_is_not_used()
    {
        var server = new ServerFixture();
        var session = await server.ConnectAsync(connection);
        server.Subscribe(session, interval: 1000);
        var hurried = server.Publish(session, connection, timeoutHint: 500);
        var patient = server.Publish(session, connection);
        server.Advance(1000);
        var first = connection.Take();
        Assert.Equal((hurried, StatusCodes.BadTimeout), (first.RequestId, first.Status));
        Assert.Equal(patient, connection.Take().RequestId);
    }

    [Fact]
    public async Task Cancelled_requests_are_answered_and_counted()
    {
        var server = new ServerFixture();
        var session = await server.ConnectAsync(connection);
        server.Subscribe(session);
        var request = server.Publish(session, connection);
        server.Publish(session, connection);
        Assert.Equal(1u, server.Subscriptions.Cancel(session, request + 1000));
        var answer = connection.Take();
        Assert.Equal((request, StatusCodes.BadRequestCancelledByClient), (answer.RequestId, answer.Status));
        connection.ExpectNothing();
    }

    [Fact]
    public async Task Acknowledged_messages_are_kept_no_longer()
    {
        var server = new ServerFixture();
        var session = await server.ConnectAsync(connection);
        var id = server.Subscribe(session).SubscriptionId;
        PublishValues(server, session, id, 2);
        server.Publish(session, connection, 0, new(id, 1), new(id, 1), new(id, 7), new(999, 1));
        server.Advance(1000);
        var response = connection.TakePublish();
        Assert.Equal([StatusCodes.Good, StatusCodes.BadSequenceNumberUnknown, StatusCodes.BadSequenceNumberUnknown, StatusCodes.BadSubscriptionIdInvalid], response.Results);
        Assert.Equal([2u], response.AvailableSequenceNumbers);
        Assert.Equal(2u, server.Subscriptions.Republish(session, new RepublishRequest(id, 2)).Message.SequenceNumber);
        Assert.Equal(StatusCodes.BadMessageNotAvailable, Assert.Throws<UaException>(() => server.Subscriptions.Republish(session, new RepublishRequest(id, 1))).Status);
        Assert.Equal(StatusCodes.BadSubscriptionIdInvalid, Assert.Throws<UaException>(() => server.Subscriptions.Republish(session, new RepublishRequest(999, 1))).Status);
    }

    [Fact]
    public async Task Only_so_many_unacknowledged_messages_are_kept_the_latest_ones()
    {
        var server = new ServerFixture(new UaServerLimits { MaxRetransmissionMessages = 3 });
        var session = await server.ConnectAsync(connection);
        var id = server.Subscribe(session).SubscriptionId;
        var last = PublishValues(server, session, id, 5);
        Assert.Equal([3u, 4u, 5u], last.AvailableSequenceNumbers);
    }

    [Fact]
    public void Unacknowledged_messages_are_bounded_in_values_too()
    {
        var queue = new RetransmissionQueue(maxMessages: 100, maxValues: 5);
        for (var i = 1u; i <= 4; i++)
        {
            queue.Add(new NotificationMessage(i, ServerFixture.Start, [new DataChangeNotification(new MonitoredItemNotification[2])]));
        }

        Assert.Equal([3u, 4u], queue.Available());
        queue.Add(new NotificationMessage(5, ServerFixture.Start, [new DataChangeNotification(new MonitoredItemNotification[50])]));
        Assert.Equal([5u], queue.Available());
    }

    /// <summary>5.14.7.1: the same user; anonymous ones only on signed channels, and only of the same application.</summary>
    [Theory]
    [InlineData(null, null, false, false, false, "urn:test:client", false)]
    [InlineData(null, null, false, false, true, "urn:test:client", true)]
    [InlineData(null, null, true, true, false, "urn:test:client", true)]
    [InlineData(null, null, true, true, false, "urn:test:other", false)]
    [InlineData("anna", "anna", false, false, false, "urn:test:other", true)]
    [InlineData("anna", "berta", true, true, true, "urn:test:client", false)]
    [InlineData("anna", null, true, true, true, "urn:test:client", false)]
    [InlineData(null, "anna", true, true, true, "urn:test:client", false)]
    [InlineData(null, null, true, false, false, "urn:test:client", false)]
    [InlineData(null, null, false, true, false, "urn:test:client", false)]
    public void Who_may_take_a_subscription_over(string? before, string? after, bool wasProtected, bool isProtected, bool allowsUnprotected, string applicationUri, bool may)
    {
        var from = new SubscriptionOwner(new SessionUser(before), "urn:test:client", wasProtected);
        var to = new SubscriptionOwner(new SessionUser(after), applicationUri, isProtected);
        Assert.Equal(may, to.MayTakeOver(from, allowsUnprotected));
    }

    [Fact]
    public async Task A_subscription_is_taken_over_with_its_messages_and_the_old_session_is_told()
    {
        var server = new ServerFixture(change: options => options with { AllowUnprotectedTransfer = true });
        var (oldConnection, newConnection) = (connection, new FakeConnection());
        var before = await server.ConnectAsync(oldConnection);
        var after = await server.ConnectAsync(newConnection);
        var id = server.Subscribe(before).SubscriptionId;
        PublishValues(server, before, id, 2);
        server.Publish(before, oldConnection);
        server.Publish(before, oldConnection);
        var results = server.Subscriptions.Transfer(after, new TransferSubscriptionsRequest([id, 999], SendInitialValues: false)).Results;
        Assert.Equal([StatusCodes.Good, StatusCodes.BadSubscriptionIdInvalid], results.Select(result => result.Status));
        Assert.Equal([1u, 2u], results[0].AvailableSequenceNumbers);
        var told = oldConnection.TakePublish();
        Assert.Equal(StatusCodes.GoodSubscriptionTransferred, Assert.IsType<StatusChangeNotification>(Assert.Single(told.Message.Notifications)).Status);
        Assert.Equal(StatusCodes.BadNoSubscription, oldConnection.Take().Status);
        Assert.Equal(1u, server.Subscriptions.Republish(after, new RepublishRequest(id, 1)).Message.SequenceNumber);

        // Nothing has changed since, so that a keep-alive comes; it says that the next message has number 3: none is missing.
        server.Publish(after, newConnection);
        server.Advance(1000);
        var alive = newConnection.TakePublish();
        Assert.True(alive.Message.IsKeepAlive);
        Assert.Equal(3u, alive.Message.SequenceNumber);
        Assert.Equal(StatusCodes.BadNothingToDo, server.Subscriptions.Transfer(after, new TransferSubscriptionsRequest([id], false)).Results[0].Status);
    }

    /// <summary>5.14.7.2, sendInitialValues: the last value is repeated where none is queued.</summary>
    [Fact]
    public async Task Whoever_takes_over_may_have_the_last_values_again()
    {
        var server = new ServerFixture(change: options => options with { AllowUnprotectedTransfer = true });
        var before = await server.ConnectAsync(connection);
        var newConnection = new FakeConnection();
        var after = await server.ConnectAsync(newConnection);
        var id = server.Subscribe(before).SubscriptionId;
        PublishValues(server, before, id, 2);
        server.Subscriptions.Transfer(after, new TransferSubscriptionsRequest([id], SendInitialValues: true));
        server.Publish(after, newConnection);
        server.Advance(100);
        var change = Assert.IsType<DataChangeNotification>(Assert.Single(newConnection.TakePublish().Message.Notifications));
        Assert.Equal(1.0, Assert.Single(change.Items).Value.Value.As<double>());
    }

    [Fact]
    public async Task A_closed_session_may_leave_its_subscriptions_to_others()
    {
        var server = new ServerFixture(change: options => options with { AllowUnprotectedTransfer = true });
        var before = await server.ConnectAsync(connection);
        var kept = server.Subscribe(before).SubscriptionId;
        server.Host.Sessions.Close(connection, before.AuthenticationToken, new CloseSessionRequest(DeleteSubscriptions: false));
        Assert.Equal(1, server.Subscriptions.Count);
        var newConnection = new FakeConnection();
        var after = await server.ConnectAsync(newConnection);
        Assert.Equal(StatusCodes.Good, server.Subscriptions.Transfer(after, new TransferSubscriptionsRequest([kept], false)).Results[0].Status);
        server.Host.Sessions.Close(newConnection, after.AuthenticationToken, new CloseSessionRequest(DeleteSubscriptions: true));
        Assert.Equal(0, server.Subscriptions.Count);
    }

    [Fact]
    public async Task Requests_of_a_connection_that_was_lost_wait_for_nothing()
    {
        var server = new ServerFixture();
        var session = await server.ConnectAsync(connection);
        server.Subscribe(session);
        server.Publish(session, connection);
        server.Host.Sessions.Disconnected(connection);
        var next = new FakeConnection();
        await server.Host.Sessions.ActivateAsync(next, session.AuthenticationToken, ServerFixture.Activation(), TestContext.Current.CancellationToken);
        server.Publish(session, next);
        server.Advance(100);
        next.TakePublish();
        connection.ExpectNothing();
    }

    /// <returns>The last response.</returns>
    private PublishResponse PublishValues(ServerFixture server, Session session, uint id, int count)
    {
        var variable = server.Variable("V");
        PublishResponse? last = null;
        variable.Set(0.0);
        server.Monitor(session, id, variable.Id);
        for (var i = 1; i <= count; i++)
        {
            server.Publish(session, connection);
            server.Advance(100);
            last = connection.TakePublish();
            Assert.Equal((uint)i, last.Message.SequenceNumber);
            if (i < count)
            {
                variable.Set((double)i);
            }
        }

        return last!;
    }
}
