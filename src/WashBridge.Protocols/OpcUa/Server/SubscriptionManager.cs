using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>
/// The subscriptions of all sessions (OPC 10000-4, 5.14). One lock guards them together with the sessions: a publishing interval takes it for
/// as long as it takes to collect values, and nothing waits under it. Order of locks: this one, the address space's, a variable's, an item's.
/// </summary>
internal sealed partial class SubscriptionManager(AddressSpace space, UaServerOptions options, ServerLog log, Lock gate, TimeProvider time)
{
    private readonly Dictionary<uint, Subscription> subscriptions = [];
    private readonly UaServerLimits limits = options.Limits;
    private uint lastId;
    private int itemCount;
    private bool isStopped;

    public int Count
    {
        get
        {
            lock (gate)
            {
                return subscriptions.Count;
            }
        }
    }

    public CreateSubscriptionResponse Create(Session session, CreateSubscriptionRequest request)
    {
        var settings = SubscriptionSettings.Revise(request, limits);
        lock (gate)
        {
            CheckAlive(session);
            if (session.Subscriptions.Count >= limits.MaxSubscriptionsPerSession || subscriptions.Count >= limits.MaxSubscriptions || isStopped)
            {
                throw new UaException(StatusCodes.BadTooManySubscriptions, $"{session.Subscriptions.Count} in this session and {subscriptions.Count} in all");
            }

            var subscription = new Subscription(NextId(), session, settings, limits, time) { IsPublishing = request.PublishingEnabled, Space = space };
            subscriptions.Add(subscription.Id, subscription);
            session.Subscriptions.Add(subscription);
            subscription.Timer = time.CreateTimer(OnTimer, subscription, settings.PublishingInterval, settings.PublishingInterval);
            return new CreateSubscriptionResponse(subscription.Id, settings.PublishingInterval.TotalMilliseconds, settings.LifetimeCount, settings.KeepAliveCount);
        }
    }

    public ModifySubscriptionResponse Modify(Session session, ModifySubscriptionRequest request)
    {
        var settings = SubscriptionSettings.Revise(request, limits);
        lock (gate)
        {
            var subscription = Of(session, request.SubscriptionId);
            if (settings.PublishingInterval != subscription.Settings.PublishingInterval)
            {
                subscription.Timer!.Change(settings.PublishingInterval, settings.PublishingInterval);
            }

            subscription.Modify(settings);
            return new ModifySubscriptionResponse(settings.PublishingInterval.TotalMilliseconds, settings.LifetimeCount, settings.KeepAliveCount);
        }
    }

    public SetPublishingModeResponse SetPublishingMode(Session session, SetPublishingModeRequest request)
    {
        Operations.Check(request.SubscriptionIds.Count, limits.MaxSubscriptionsPerSession);
        lock (gate)
        {
            return new SetPublishingModeResponse(Operations.Each(request.SubscriptionIds, id =>
            {
                if (Find(session, id) is not { } subscription)
                {
                    return StatusCodes.BadSubscriptionIdInvalid;
                }

                subscription.SetPublishing(request.PublishingEnabled);
                return StatusCodes.Good;
            }));
        }
    }

    public DeleteSubscriptionsResponse Delete(Session session, DeleteSubscriptionsRequest request)
    {
        Operations.Check(request.SubscriptionIds.Count, limits.MaxSubscriptionsPerSession);
        lock (gate)
        {
            var response = new DeleteSubscriptionsResponse(Operations.Each(request.SubscriptionIds, id =>
            {
                if (Find(session, id) is not { } subscription)
                {
                    return StatusCodes.BadSubscriptionIdInvalid;
                }

                Remove(subscription);
                return StatusCodes.Good;
            }));
            FailIfNoSubscription(session);
            return response;
        }
    }

    /// <summary>The session ends: its subscriptions go too, or else wait until somebody takes them over or their lifetime ends.</summary>
    public void Leave(Session session, bool deleteSubscriptions, StatusCode reason)
    {
        lock (gate)
        {
            session.Publishing.FailAll(reason);
            foreach (var subscription in session.Subscriptions.ToArray())
            {
                if (deleteSubscriptions)
                {
                    Remove(subscription);
                }
                else
                {
                    subscription.Abandon();
                }
            }

            session.Subscriptions.Clear();
        }
    }

    /// <summary>The server ends.</summary>
    public void Stop()
    {
        lock (gate)
        {
            isStopped = true;
            foreach (var subscription in subscriptions.Values.ToArray())
            {
                Remove(subscription);
            }
        }
    }

    private static void CheckAlive(Session session)
    {
        if (session.IsEnded)
        {
            throw new UaException(StatusCodes.BadSessionClosed, "the session has ended meanwhile");
        }
    }

    private Subscription? Find(Session session, uint id) =>
        subscriptions.TryGetValue(id, out var subscription) && subscription.Session == session ? subscription : null;

    /// <exception cref="UaException">BadSubscriptionIdInvalid: none of this session's.</exception>
    private Subscription Of(Session session, uint id)
    {
        var subscription = Find(session, id) ?? throw new UaException(StatusCodes.BadSubscriptionIdInvalid, $"this session has no subscription {id}");
        subscription.ResetLifetime();
        return subscription;
    }

    private void Remove(Subscription subscription)
    {
        subscriptions.Remove(subscription.Id);
        subscription.Session?.Subscriptions.Remove(subscription);
        subscription.Timer!.Dispose();
        foreach (var item in subscription.Items)
        {
            Forget(item);
        }
    }

    /// <summary>Not zero, and not one that is in use.</summary>
    private uint NextId()
    {
        do
        {
            lastId++;
        }
        while (lastId == 0 || subscriptions.ContainsKey(lastId));
        return lastId;
    }
}
