using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

/// <summary>How many publish requests wait at the server, and what becomes of subscriptions (OPC 10000-4, 5.14).</summary>
public sealed class PublishingTests
{
    [Fact]
    public void At_least_two_requests_wait_and_one_more_for_each_further_subscription()
    {
        using var h = new Harness();
        h.Start();
        Assert.Equal(2, h.Server.WaitingPublishRequests);
        h.Connection.Subscribe(Harness.Spec(Harness.Item(3)), new Recorder(h.Time));
        h.Connection.Subscribe(Harness.Spec(Harness.Item(4)), new Recorder(h.Time));
        h.Run(0.1);
        Assert.Equal(4, h.Server.WaitingPublishRequests);
    }

    [Fact]
    public void A_long_way_takes_more_requests()
    {
        using var h = new Harness();
        h.Server.Latency = TimeSpan.FromMilliseconds(300);
        h.Start();
        for (var i = 0; i < 8; i++)
        {
            h.Server.KeepAlive(h.Server.Subscription);
            h.Run(2); // the way is measured now and then
        }

        Assert.InRange(h.Server.WaitingPublishRequests, 5, 6);
    }

    [Fact]
    public void A_server_that_takes_fewer_requests_gets_fewer()
    {
        using var h = new Harness();
        h.Server.MaxPublishRequests = 1;
        var subscription = h.Start();
        h.Run(1);
        var sent = h.Server.RequestsOf<PublishRequest>().Count();
        Assert.Equal(1, h.Server.WaitingPublishRequests);
        for (var i = 10; i < 20; i++)
        {
            h.Server.Publish(subscription, (1, Harness.Value(i)));
            h.RunAll();
        }

        Assert.Equal(Enumerable.Range(10, 10).Select(i => (double)i), h.Listener.ValuesOf(1).Skip(1));
        Assert.Equal(sent + 10, h.Server.RequestsOf<PublishRequest>().Count());
    }

    [Fact]
    public void A_server_that_refuses_to_publish_is_not_stormed()
    {
        using var h = new Harness();
        h.Start();
        h.Server.Intercept = static request => request is PublishRequest ? ScriptedServer.Refusal(StatusCodes.BadOutOfMemory) : null;
        h.Server.KeepAlive(h.Server.Subscription);
        h.Server.KeepAlive(h.Server.Subscription);
        h.Run(1);
        Assert.InRange(h.Server.RequestsOf<PublishRequest>().Count(), 5, 25);
        h.Server.Intercept = static _ => null;
        h.Server.Publish(h.Server.Subscription, (1, Harness.Value(10)));
        h.Until(() => h.Listener.ValuesOf(1).Contains(10), seconds: 1);
    }

    [Fact]
    public void A_subscription_that_the_server_denies_is_created_anew()
    {
        using var h = new Harness();
        var first = h.Start();
        h.Server.Forget(first);
        h.Server.AnswerWaiting(ScriptedServer.Refusal(StatusCodes.BadNoSubscription));
        h.Until(() => h.Listener.Resumed.Count == 2, seconds: 0.1);
        Assert.Equal(["interrupted", "begun anew"], h.Listener.Events[2..4]);
        Assert.Contains("BadNoSubscription", h.Listener.Interrupted[0].Reason, StringComparison.Ordinal);
        Assert.Equal(1, h.Connection.Counters.SessionsCreated);
    }

    [Fact]
    public void A_subscription_that_the_server_ends_is_created_anew()
    {
        using var h = new Harness();
        var first = h.Start();
        h.Server.End(first, StatusCodes.BadTimeout);
        h.Until(() => h.Listener.Notifications.Count == 2, seconds: 0.1);
        Assert.Equal(["interrupted", "begun anew", "Published 1 after a gap: 1=1 2=2"], h.Listener.Events[^3..]);
        Assert.NotEqual(first.Id, h.Server.Subscription.Id);
    }

    /// <summary>Keep-alives every 2 s, and 3 s for a slow answer; looked at twice a second.</summary>
    [Fact]
    public void A_subscription_that_is_silent_for_too_long_is_created_anew_though_the_session_lives()
    {
        using var h = new Harness();
        var first = h.Start();
        var took = h.Until(() => h.Listener.Resumed.Count == 2);
        Assert.InRange(took, TimeSpan.FromSeconds(4.9), TimeSpan.FromSeconds(5.6));
        Assert.DoesNotContain(h.Server.Subscriptions, s => s.Id == first.Id);
        Assert.Equal(1, h.Connection.Counters.SessionsCreated);
    }

    /// <summary>Else a server that lost them would never be asked again.</summary>
    [Fact]
    public void Publish_requests_that_the_server_has_lost_are_replaced()
    {
        using var h = new Harness();
        h.Start();
        h.Server.AnswerWaiting(null);
        Assert.Equal(0, h.Server.WaitingPublishRequests);
        h.Until(() => h.Listener.Notifications.Count == 2, seconds: 6);
        Assert.Equal(["interrupted", "begun anew", "Published 1 after a gap: 1=1 2=2"], h.Listener.Events[^3..]);
        Assert.Equal(1, h.Connection.Counters.SessionsCreated);
    }

    [Fact]
    public void A_session_that_publishes_nothing_though_it_lives_is_given_up_for_a_new_one()
    {
        using var h = new Harness();
        h.Start();
        h.Server.Intercept = static request => request is PublishRequest ? ScriptedServer.Never : null;
        h.Server.AnswerWaiting(null);
        h.Until(() => h.Connection.Counters.SessionsCreated == 2, seconds: 12);
        h.Server.Intercept = static _ => null;
        h.Until(() => h.Listener.Notifications.Count == 2, seconds: 12);
        Assert.Contains("does not answer publish requests", h.Connection.LastError!.Message, StringComparison.Ordinal);
    }

    /// <summary>They are claims of the server, which may be any number (OPC 10000-4, 5.14.2).</summary>
    [Theory]
    [InlineData(double.NaN, 0u, 0u)]
    [InlineData(-1, 1u, 1u)]
    [InlineData(double.PositiveInfinity, uint.MaxValue, uint.MaxValue)]
    [InlineData(1e300, uint.MaxValue, 3u)]
    public void Revised_times_beyond_all_measure_are_borne(double interval, uint keepAlive, uint lifetime)
    {
        using var h = new Harness();
        h.Server.ReviseItem = (_, given) => given with { RevisedSamplingInterval = interval };
        h.Server.OnCreated = (_, given) => given with { RevisedSessionTimeout = interval };
        h.Server.Revise = (_, given) => given with { RevisedPublishingInterval = interval, RevisedMaxKeepAliveCount = keepAlive, RevisedLifetimeCount = lifetime };
        var subscription = h.Start();
        h.Server.Publish(subscription, (1, Harness.Value(7)));
        h.Until(() => h.Listener.ValuesOf(1).LastOrDefault() == 7);
    }

    [Fact]
    public void Keep_alives_keep_it()
    {
        using var h = new Harness();
        h.Start();
        for (var i = 0; i < 10; i++)
        {
            h.Run(2);
            h.Server.KeepAlive(h.Server.Subscription);
        }

        h.RunAll();
        Assert.Empty(h.Listener.Interrupted);
        Assert.Equal(10, h.Listener.KeepAlives.Count);
    }

    [Fact]
    public void Counts_are_asked_for_anew_if_the_server_publishes_more_slowly()
    {
        using var h = new Harness();
        h.Server.Revise = static (_, given) => given with { RevisedPublishingInterval = 1000 };
        h.Server.Nodes[Harness.Node(1)] = Harness.Value(1);
        var subscription = h.Subscribe();
        h.Until(() => h.Listener.Notifications.Count > 0);
        var created = h.Server.RequestsOf<CreateSubscriptionRequest>().Single();
        Assert.Equal((100, 20u, 1200u), (created.RequestedPublishingInterval, created.RequestedMaxKeepAliveCount, created.RequestedLifetimeCount));
        var modified = h.Server.RequestsOf<ModifySubscriptionRequest>().Single();
        Assert.Equal((1000, 2u, 120u), (modified.RequestedPublishingInterval, modified.RequestedMaxKeepAliveCount, modified.RequestedLifetimeCount));
        Assert.Equal((TimeSpan.FromSeconds(1), TimeSpan.FromSeconds(2)), (subscription.PublishingInterval, subscription.KeepAlive));
    }

    /// <summary>OPC 10000-4, 5.14.2: the lifetime count is at least three times the keep-alive count.</summary>
    [Fact]
    public void The_lifetime_is_at_least_three_keep_alives()
    {
        var spec = Harness.Spec() with { PublishingInterval = TimeSpan.FromMilliseconds(700), KeepAlive = TimeSpan.FromSeconds(1), Lifetime = TimeSpan.FromSeconds(3) };
        spec.Validate();
        var request = SubscriptionTimes.Request(spec);
        Assert.Equal((2u, 6u), (request.RequestedMaxKeepAliveCount, request.RequestedLifetimeCount));
        Assert.Throws<ArgumentOutOfRangeException>((spec with { Lifetime = TimeSpan.FromSeconds(2.9) }).Validate);
    }

    [Fact]
    public void A_subscription_that_the_server_has_no_room_for_is_tried_again()
    {
        using var h = new Harness();
        h.Server.Intercept = static request => request is CreateSubscriptionRequest ? ScriptedServer.Refusal(StatusCodes.BadTooManySubscriptions) : null;
        h.Subscribe();
        h.Run(4);
        Assert.InRange(h.Server.RequestsOf<CreateSubscriptionRequest>().Count(), 2, 4);
        Assert.Equal(UaConnectionState.Connected, h.Connection.State);
        h.Server.Intercept = static _ => null;
        h.Until(() => h.Listener.Notifications.Count > 0, seconds: 5);
    }

    [Fact]
    public void A_subscription_that_is_disposed_of_ends_alone()
    {
        using var h = new Harness();
        var ended = h.Subscribe();
        var other = new Recorder(h.Time);
        h.Connection.Subscribe(Harness.Spec(Harness.Item(3)), other);
        h.Until(() => h.Listener.Notifications.Count > 0 && other.Notifications.Count > 0);
        h.Scheduler.Run(() => ended.DisposeAsync().AsTask());
        var left = Assert.Single(h.Server.Subscriptions);
        h.Server.Publish(left, (3, Harness.Value(30)));
        h.RunAll();
        Assert.Equal([3, 30], other.ValuesOf(3));
    }
}
