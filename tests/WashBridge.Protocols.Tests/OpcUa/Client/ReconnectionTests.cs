using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

/// <summary>Lost connections, sessions and servers (OPC 10000-4, 6.7).</summary>
public sealed class ReconnectionTests
{
    [Fact]
    public void A_lost_connection_is_replaced_at_once_and_nothing_is_missing()
    {
        using var h = new Harness();
        var subscription = h.Start();
        h.Server.Lose(subscription, (1, Harness.Value(10))); // on its way when the connection broke
        h.Server.BreakAll();
        h.Server.Publish(subscription, (1, Harness.Value(11)));
        var took = h.Until(() => h.Listener.ValuesOf(1).Contains(11));

        // The unsent message is published; the lost one is asked for before that, as the standard says.
        Assert.Equal(["interrupted", "Republished 2: 1=10", "Republished 3: 1=11", "resumed"], h.Listener.Events[^4..]);
        Assert.InRange(took, TimeSpan.Zero, TimeSpan.FromMilliseconds(10));
        Assert.Equal((2, 1, 1), (h.Connection.Counters.Connections, h.Connection.Counters.SessionsCreated, h.Connection.Counters.SubscriptionsCreated));
        h.Run(0.1);
        h.Server.Publish(subscription, (1, Harness.Value(12)));
        h.RunAll();
        Assert.Equal("Published 4: 1=12", h.Listener.Events[^1]);
        Assert.Equal([2, 3], h.Listener.Notifications.Where(n => n.Origin == NotificationOrigin.Republished).Select(n => (int)n.SequenceNumber));
    }

    [Fact]
    public void What_was_lost_for_good_meanwhile_is_told_when_it_shows()
    {
        using var h = new Harness();
        var subscription = h.Start();
        h.Server.BreakAll();
        h.Server.Lose(subscription, (1, Harness.Value(10)));
        subscription.Kept.Clear();
        h.Until(() => h.Listener.Resumed.Count == 2);
        Assert.True(h.Listener.Resumed[1]);
        h.Server.Nodes[Harness.Node(1)] = Harness.Value(11);
        h.Server.Publish(subscription, (1, Harness.Value(11)));
        h.RunAll();
        Assert.Equal(["Published 3 after a gap: 1=11", "ReadAnew 0 after a gap: 1=11 2=2"], h.Listener.Events[^2..]);
    }

    [Fact]
    public void A_session_that_the_server_has_forgotten_is_replaced_and_its_subscription_taken_over()
    {
        using var h = new Harness();
        var subscription = h.Start();
        h.Server.Lose(subscription, (1, Harness.Value(10)));
        h.Server.ForgetSessions();
        h.Server.BreakAll();
        h.Until(() => h.Listener.Resumed.Count == 2);
        Assert.Equal(["interrupted", "Republished 2: 1=10", "resumed"], h.Listener.Events[^3..]);
        Assert.Equal((2, 1, 1), (h.Connection.Counters.SessionsCreated, h.Connection.Counters.SubscriptionsCreated, h.Connection.Counters.SubscriptionsTransferred));
        h.Server.Publish(subscription, (1, Harness.Value(11)));
        h.RunAll();
        Assert.Equal("Published 3: 1=11", h.Listener.Events[^1]);
    }

    [Fact]
    public void A_subscription_that_is_not_taken_over_is_created_anew_and_the_gap_is_marked()
    {
        using var h = new Harness();
        h.Start();
        h.Server.TransferIsRefused = true;
        h.Server.ForgetSessions();
        h.Server.BreakAll();
        h.Server.Nodes[Harness.Node(1)] = Harness.Value(10);
        h.Until(() => h.Listener.ValuesOf(1).Contains(10));
        Assert.Equal(["interrupted", "begun anew", "Published 1 after a gap: 1=10 2=2"], h.Listener.Events[^3..]);
        Assert.Equal(2, h.Connection.Counters.SubscriptionsCreated);
    }

    [Fact]
    public void A_server_that_cannot_transfer_at_all_gets_a_new_subscription()
    {
        using var h = new Harness();
        h.Start();
        h.Server.Intercept = static request => request is TransferSubscriptionsRequest ? ScriptedServer.Refusal(StatusCodes.BadServiceUnsupported) : null;
        h.Server.ForgetSessions();
        h.Server.BreakAll();
        h.Until(() => h.Listener.Resumed.Count == 2);
        Assert.False(h.Listener.Resumed[1]);
    }

    [Fact]
    public void A_session_that_ends_while_the_connection_lives_is_replaced()
    {
        using var h = new Harness();
        h.Start();
        h.Server.Restart();
        h.Until(() => h.Listener.Resumed.Count == 2);
        h.Server.ForgetSessions();
        h.Until(() => h.Listener.Resumed.Count == 3, "a session after the status read was refused", seconds: 2);
        Assert.Equal(3, h.Connection.Counters.SessionsCreated);
    }

    /// <summary>The bar: back within 2 s of the server being up.</summary>
    [Theory]
    [InlineData(0.3)]
    [InlineData(5)]
    [InlineData(120)]
    public void A_server_that_was_away_is_found_within_a_second_of_being_back(double away)
    {
        using var h = new Harness();
        h.Start();
        h.Server.Unreachable = new UaException(StatusCodes.BadCommunicationError, "connection refused");
        h.Server.Restart();
        h.Run(away);
        Assert.Equal(UaConnectionState.Connecting, h.Connection.State);
        Assert.Contains("connection refused", h.Connection.LastError!.Message, StringComparison.Ordinal);
        h.Server.Unreachable = null;
        var took = h.Until(() => h.Listener.Notifications[^1].Values.Count == 2 && h.Listener.Resumed.Count == 2);
        Assert.InRange(took, TimeSpan.Zero, TimeSpan.FromSeconds(1.01));
        Assert.False(h.Listener.Resumed[1]);
        Assert.InRange(h.Server.ConnectionAttempts, away, 5 + 10 + (away * 1.3));
    }

    [Fact]
    public void A_cut_network_that_answers_nothing_is_found_again_soon()
    {
        using var h = new Harness();
        var subscription = h.Start();
        h.Server.AcceptsNothing = true;
        h.Server.Channels[^1].IsStalled = true;
        h.Run(60);
        h.Server.AcceptsNothing = false;
        var took = h.Until(() => h.Listener.Resumed.Count == 2);
        Assert.InRange(took, TimeSpan.Zero, TimeSpan.FromSeconds(3.1));
        Assert.True(h.Listener.Resumed[1]);
        Assert.Equal(subscription.Id, h.Server.Subscription.Id);
    }

    /// <summary>The bar: sampling again within 1 s of a stall.</summary>
    [Fact]
    public void A_stalled_connection_is_left_for_one_that_works_within_a_second()
    {
        using var h = new Harness();
        var subscription = h.Start();
        h.Run(2);
        h.Server.Channels[^1].IsStalled = true;
        h.Server.Publish(subscription, (1, Harness.Value(10)));
        var took = h.Until(() => h.Listener.ValuesOf(1).Contains(10));
        Assert.InRange(took, TimeSpan.FromSeconds(0.1), TimeSpan.FromSeconds(1));
        Assert.True(h.Listener.Resumed[^1]);
        Assert.Equal(1, h.Connection.Counters.SessionsCreated);
        Assert.Single(h.Server.Channels, c => c.IsOpen);
    }

    [Fact]
    public void A_server_that_is_only_slow_is_not_interrupted()
    {
        using var h = new Harness();
        h.Start();
        h.Run(1);
        h.Server.Latency = TimeSpan.FromMilliseconds(800);
        for (var i = 0; i < 10; i++)
        {
            h.Server.KeepAlive(h.Server.Subscription);
            h.Run(2);
        }

        Assert.Empty(h.Listener.Interrupted);
        Assert.Single(h.Server.Channels, c => c.IsOpen);
        Assert.InRange(h.Server.ConnectionAttempts, 3, 5);
    }

    [Fact]
    public void Wrong_credentials_are_not_tried_again_and_again()
    {
        using var h = new Harness();
        h.Server.Intercept = static request => request is ActivateSessionRequest ? ScriptedServer.Refusal(StatusCodes.BadUserAccessDenied) : null;
        h.Subscribe();
        h.Run(60);
        Assert.Equal(UaConnectionState.Refused, h.Connection.State);
        Assert.Equal(StatusCodes.BadUserAccessDenied, h.Connection.LastError!.Status);
        Assert.InRange(h.Server.RequestsOf<ActivateSessionRequest>().Count(), 4, 6);
        h.Server.Intercept = static _ => null;
        h.Until(() => h.Listener.Notifications.Count > 0, seconds: 16);
        Assert.Equal(UaConnectionState.Connected, h.Connection.State);
    }

    [Fact]
    public void Namespaces_that_are_numbered_anew_after_a_restart_lead_to_the_same_nodes()
    {
        using var h = new Harness();
        MonitoredItemSpec Item(uint handle) => new() { ClientHandle = handle, Node = NodeAddress.Parse($"nsu={ScriptedServer.PlantUri};s=V{handle}") };
        h.Start(Harness.Spec(Item(1), Item(2)));
        Assert.Equal(new NodeId(2, "V1"), h.Listener.Item(1).Node);
        h.Server.Namespaces.Insert(1, "urn:washbridge:tests:added");
        h.Server.Nodes.Clear();
        h.Server.Nodes[new NodeId(3, "V1")] = Harness.Value(31);
        h.Server.Nodes[new NodeId(3, "V2")] = Harness.Value(32);
        h.Server.Restart();
        h.Until(() => h.Listener.ValuesOf(1).Contains(31));
        Assert.Equal(new NodeId(3, "V1"), h.Listener.Item(1).Node);
        Assert.Equal([2, 32], h.Listener.ValuesOf(2));
    }

    /// <summary>The items of a subscription that was kept would else go on watching nodes of another namespace.</summary>
    [Fact]
    public void A_subscription_is_made_anew_if_the_namespaces_changed_though_it_was_kept()
    {
        using var h = new Harness();
        h.Start();
        h.Server.Namespaces.Add("urn:washbridge:tests:added");
        h.Server.BreakAll();
        h.Until(() => h.Listener.Resumed.Count == 2);
        Assert.False(h.Listener.Resumed[1]);
        Assert.Equal((1, 2), (h.Connection.Counters.SessionsCreated, h.Connection.Counters.SubscriptionsCreated));
    }

    [Fact]
    public void Everything_ends_at_the_server_when_the_connection_is_disposed_of()
    {
        var h = new Harness();
        h.Start();
        h.Dispose();
        Assert.Equal((0, 0), (h.Server.SessionCount, h.Server.Subscriptions.Count));
        Assert.DoesNotContain(h.Server.Channels, c => c.IsOpen);
        Assert.Equal(UaConnectionState.Closed, h.Connection.State);
        Assert.Single(h.Listener.Resumed);
    }

    [Fact]
    public void A_connection_that_never_was_can_be_disposed_of()
    {
        var h = new Harness();
        h.Server.AcceptsNothing = true;
        h.Subscribe();
        h.Run(1);
        h.Dispose();
        Assert.Equal(UaConnectionState.Closed, h.Connection.State);
    }

    /// <summary>A server whose certificate was renewed does not understand what is encrypted for the old one, and may just close.</summary>
    [Fact]
    public void A_server_that_keeps_closing_is_asked_again_what_it_is()
    {
        using var h = new Harness();
        h.Start();
        h.Server.Unreachable = new UaException(StatusCodes.BadConnectionClosed, "the server closed the connection");
        h.Server.Restart();
        h.Run(2);
        h.Server.Unreachable = null;
        h.Until(() => h.Listener.Resumed.Count == 2);
        Assert.Equal(2, h.Server.RequestsOf<GetEndpointsRequest>().Count());
    }

    [Fact]
    public void Losing_the_connection_in_the_middle_of_creating_items_leaves_no_item_out()
    {
        using var h = new Harness();
        h.Server.Intercept = request =>
        {
            if (request is CreateMonitoredItemsRequest)
            {
                h.Server.Intercept = static _ => null;
                h.Server.BreakAll();
                return ScriptedServer.Never;
            }

            return null;
        };
        h.Start();
        Assert.Equal([1], h.Listener.ValuesOf(1));
        Assert.Equal([2], h.Listener.ValuesOf(2));
    }

    [Fact]
    public void Losing_the_connection_in_the_middle_of_asking_again_loses_nothing()
    {
        using var h = new Harness();
        var subscription = h.Start();
        h.Server.Intercept = request =>
        {
            if (request is RepublishRequest)
            {
                h.Server.Intercept = static _ => null;
                h.Server.BreakAll();
                return ScriptedServer.Never;
            }

            return null;
        };
        h.Server.Lose(subscription, (1, Harness.Value(10)));
        h.Server.Publish(subscription, (1, Harness.Value(11)));
        h.Until(() => h.Listener.Resumed.Count == 2);
        Assert.Equal([1, 10, 11], h.Listener.ValuesOf(1));
        Assert.All(h.Listener.Notifications[1..], n => Assert.True(n.Continuous));
    }
}
