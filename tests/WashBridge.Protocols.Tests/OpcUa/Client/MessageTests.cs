using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

/// <summary>Notification messages: order, loss, acknowledgement (OPC 10000-4, 5.14.1 and 5.14.5 to 5.14.6).</summary>
public sealed class MessageTests
{
    [Fact]
    public void Initial_values_come_first_and_are_not_called_continuous()
    {
        using var h = new Harness();
        h.Start();
        Assert.Equal(["begun anew", "Published 1 after a gap: 1=1 2=2"], h.Listener.Events);
    }

    [Fact]
    public void A_message_lost_on_the_way_is_asked_for_again_and_told_in_its_place()
    {
        using var h = new Harness();
        var subscription = h.Start();
        h.Server.Lose(subscription, (1, Harness.Value(10)));
        h.Server.Publish(subscription, (1, Harness.Value(11)));
        h.RunAll();
        Assert.Equal(["Republished 2: 1=10", "Published 3: 1=11"], h.Listener.Events[^2..]);
        Assert.Equal((1, 0), (h.Connection.Counters.Republished, h.Connection.Counters.MessagesLost));
        Assert.Single(h.Listener.Resumed);
    }

    [Fact]
    public void A_message_lost_for_good_is_marked_and_all_items_are_read_anew()
    {
        using var h = new Harness();
        var subscription = h.Start();
        h.Server.Lose(subscription, (1, Harness.Value(10)));
        subscription.Kept.Clear();
        h.Server.Nodes[Harness.Node(1)] = Harness.Value(10);
        h.Server.Publish(subscription, (2, Harness.Value(20)));
        h.Server.Nodes[Harness.Node(2)] = Harness.Value(20);
        h.RunAll();
        Assert.Equal(["Published 3 after a gap: 2=20", "ReadAnew 0 after a gap: 1=10 2=20"], h.Listener.Events[^2..]);
        Assert.Equal(1, h.Connection.Counters.MessagesLost);

        h.Server.Publish(subscription, (1, Harness.Value(12)));
        h.RunAll();
        Assert.Equal("Published 4: 1=12", h.Listener.Events[^1]);
    }

    /// <summary>A keep-alive tells the number that the next message will have (OPC 10000-4, 5.14.1.1).</summary>
    [Fact]
    public void A_keep_alive_reveals_that_the_last_message_was_lost()
    {
        using var h = new Harness();
        var subscription = h.Start();
        h.Server.Lose(subscription, (1, Harness.Value(10)));
        h.Server.KeepAlive(subscription);
        h.RunAll();
        Assert.Equal(["Republished 2: 1=10", "keep-alive"], h.Listener.Events[^2..]);
    }

    [Fact]
    public void Messages_are_acknowledged_once_and_keep_alives_never()
    {
        using var h = new Harness();
        var subscription = h.Start();
        h.Server.KeepAlive(subscription);
        h.Server.Publish(subscription, (1, Harness.Value(10)));
        h.Server.KeepAlive(subscription);
        h.Server.KeepAlive(subscription);
        h.RunAll();
        Assert.Equal([1u, 2u], h.Server.Acknowledged.Select(a => a.SequenceNumber));
        Assert.All(h.Server.Acknowledged, a => Assert.Equal(subscription.Id, a.SubscriptionId));
        Assert.Equal(3, h.Listener.KeepAlives.Count);
    }

    [Fact]
    public void Numbers_go_from_the_largest_to_one()
    {
        using var h = new Harness();
        var subscription = h.Start();

        // Near the end without 4,294,967,293 messages: all between are lost for good.
        subscription.NextSequence = uint.MaxValue - 1;
        h.Server.Publish(subscription, (1, Harness.Value(0)));
        h.RunAll();
        var events = h.Listener.Events.Count;
        for (var i = 1; i <= 4; i++)
        {
            h.Server.Publish(subscription, (1, Harness.Value(i)));
        }

        h.RunAll();
        Assert.Equal(["Published 4294967295: 1=1", "Published 1: 1=2", "Published 2: 1=3", "Published 3: 1=4"], h.Listener.Events[events..]);
    }

    [Theory]
    [InlineData(1u, 1u, 0)]
    [InlineData(1u, 2u, 1)]
    [InlineData(uint.MaxValue, 1u, 1)]
    [InlineData(1u, uint.MaxValue, -1)]
    [InlineData(5u, 3u, -2)]
    public void Distance_knows_that_zero_is_no_number(uint expected, uint number, long distance) =>
        Assert.Equal(distance, SequenceNumber.Distance(expected, number));

    [Fact]
    public void Answers_in_another_order_than_the_requests_are_put_right_without_asking_again()
    {
        using var h = new Harness();
        var subscription = h.Start();
        var held = new List<Action>();
        h.Server.OnPublishAnswer = deliver => held.Add(deliver);
        h.Server.Publish(subscription, (1, Harness.Value(10)));
        h.Server.Publish(subscription, (1, Harness.Value(11)));
        h.Server.OnPublishAnswer = null;
        held[1]();
        h.RunAll();
        held[0]();
        h.RunAll();
        Assert.Equal(["Published 2: 1=10", "Published 3: 1=11"], h.Listener.Events[^2..]);
        Assert.Empty(h.Server.RequestsOf<RepublishRequest>());
    }

    [Fact]
    public void An_answer_that_never_comes_does_not_hold_up_those_behind_it()
    {
        using var h = new Harness();
        var subscription = h.Start();
        h.Server.OnPublishAnswer = static _ => { };
        h.Server.Publish(subscription, (1, Harness.Value(10)));
        h.Server.OnPublishAnswer = null;
        h.Server.Publish(subscription, (1, Harness.Value(11)));
        h.Until(() => h.Listener.ValuesOf(1).Contains(11), seconds: 0.5);
        Assert.Equal(["Republished 2: 1=10", "Published 3: 1=11"], h.Listener.Events[^2..]);
    }

    [Fact]
    public void A_message_that_comes_before_its_subscription_is_known_is_not_lost()
    {
        using var h = new Harness();
        var first = h.Start();
        h.Server.Intercept = request =>
        {
            if (request is CreateMonitoredItemsRequest create)
            {
                // Published at once, while the answers to these requests are still to come.
                h.Server.Intercept = static _ => null;
                h.Server.Publish(h.Server.Subscriptions.Single(s => s.Id == create.SubscriptionId), (7, Harness.Value(70)));
            }

            return null;
        };
        var second = new Recorder(h.Time);
        h.Connection.Subscribe(Harness.Spec(Harness.Item(3)), second);
        h.Until(() => second.Notifications.Count == 2);
        Assert.Equal([70], second.ValuesOf(7));
        Assert.Equal([3], second.ValuesOf(3));
        Assert.NotEqual(first.Id, h.Server.Subscription.Id);
    }

    [Fact]
    public void Statuses_and_the_overflow_bit_reach_the_listener_untouched()
    {
        using var h = new Harness();
        var subscription = h.Start();
        DataValue[] values =
        [
            new(1.0, StatusCodes.Good.WithOverflow()),
            new(2.0, StatusCodes.UncertainLastUsableValue),
            new(default, StatusCodes.BadSensorFailure.WithOverflow()),
            new(3.0, new StatusCode(0x8034_0001)),
        ];
        h.Server.Publish(subscription, [.. values.Select(v => (1u, v))]);
        h.RunAll();
        Assert.Equal(values, h.Listener.Notifications[^1].Values.Select(v => v.Value));
        Assert.Equal(2, h.Connection.Counters.Overflows);
    }

    [Fact]
    public void A_listener_that_fails_loses_its_message_and_nothing_else()
    {
        using var h = new Harness();
        var subscription = h.Start();
        h.Listener.OnValues = static _ => throw new InvalidOperationException("a mistake in the listener");
        h.Server.Publish(subscription, (1, Harness.Value(10)));
        h.RunAll();
        h.Listener.OnValues = static _ => { };
        h.Server.Publish(subscription, (1, Harness.Value(11)));
        h.RunAll();
        Assert.Equal("Published 3: 1=11", h.Listener.Events[^1]);
    }

    [Fact]
    public void A_server_that_never_answers_what_it_is_asked_again_does_not_hold_up_the_rest()
    {
        using var h = new Harness();
        var subscription = h.Start();
        h.Server.Intercept = static request => request is RepublishRequest ? ScriptedServer.Never : null;
        h.Server.Lose(subscription, (1, Harness.Value(10)));
        h.Server.Publish(subscription, (1, Harness.Value(11)));
        h.Run(1);
        h.Server.Publish(subscription, (1, Harness.Value(12)));
        h.Until(() => h.Listener.ValuesOf(1).Contains(12), seconds: 7);
        Assert.Equal(["Published 3 after a gap: 1=11", "Published 4: 1=12"], h.Listener.Events[2..4]);
        Assert.Equal(1, h.Connection.Counters.MessagesLost);
        Assert.Empty(h.Listener.Interrupted);
    }

    /// <summary>At once: not when the thread pool, which others may keep busy, gets round to it.</summary>
    [Fact]
    public void When_room_is_made_in_the_backlog_what_waited_at_the_server_comes_at_once()
    {
        using var h = new Harness();
        var subscription = h.Start();
        h.Server.Intercept = static request => request is RepublishRequest ? ScriptedServer.Never : null;
        h.Server.Lose(subscription, (1, Harness.Value(10)));
        for (var i = 1; i <= 2 * UaSubscription.MaxBacklog; i++)
        {
            h.Server.Publish(subscription, (1, Harness.Value(10 + i)));
        }

        h.Run(1);
        Assert.NotEmpty(subscription.Unsent);
        h.Server.Intercept = static request => request is RepublishRequest ? ScriptedServer.Refusal(StatusCodes.BadMessageNotAvailable) : null;
        h.Until(() => h.Listener.ValuesOf(1).Contains(11), "what came after the gap");
        Assert.Equal(Enumerable.Range(11, 2 * UaSubscription.MaxBacklog).Select(i => (double)i), h.Listener.ValuesOf(1).Where(v => v > 10));
    }

    [Fact]
    public void A_forged_number_does_not_silence_the_messages_that_it_made_us_give_up()
    {
        using var h = new Harness();
        var subscription = h.Start();
        subscription.NextSequence = 500;
        h.Server.Publish(subscription, (1, Harness.Value(10)));
        h.RunAll();
        subscription.NextSequence = 3;
        for (var i = 1; i <= 40; i++)
        {
            h.Server.Publish(subscription, (1, Harness.Value(10 + i)));
            h.RunAll();
        }

        Assert.Contains(50, h.Listener.ValuesOf(1));
    }

    [Fact]
    public void A_server_that_numbers_its_messages_anew_is_followed()
    {
        using var h = new Harness();
        var subscription = h.Start();
        for (var i = 10; i < 20; i++)
        {
            h.Server.Publish(subscription, (1, Harness.Value(i)));
        }

        subscription.NextSequence = 4;
        subscription.Kept.Clear();
        h.Server.Publish(subscription, (1, Harness.Value(20)));
        h.Server.Publish(subscription, (1, Harness.Value(21)));
        h.RunAll();
        Assert.Equal(["Published 4 after a gap: 1=20", "ReadAnew 0 after a gap: 1=1 2=2", "Published 5: 1=21"], h.Listener.Events[12..]);
    }

    [Fact]
    public void More_notifications_are_said_to_follow()
    {
        using var h = new Harness();
        var subscription = h.Start();
        h.Server.Subscriptions[0].Unsent.Enqueue(new NotificationMessage(subscription.TakeSequence(), h.Server.Now, [new DataChangeNotification([new MonitoredItemNotification(1, Harness.Value(10))])]));
        h.Server.Publish(subscription, (1, Harness.Value(11)));
        h.RunAll();
        Assert.Equal([true, false], h.Listener.Notifications[^2..].Select(n => n.MoreFollows));
    }
}
