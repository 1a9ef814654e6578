using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <content>Publish requests, and who is served with them.</content>
internal sealed partial class SubscriptionManager
{
    /// <summary>Takes a publish request, which is answered at once or whenever there is something to tell (OPC 10000-4, 5.14.5).</summary>
    /// <param name="timeoutHint">Milliseconds until the client gives up; 0: never.</param>
    public void Publish(Session session, IServerConnection connection, uint requestId, uint handle, uint timeoutHint, PublishRequest body)
    {
        Operations.CheckAtMost(body.Acknowledgements.Count, limits.MaxSubscriptionsPerSession * limits.MaxRetransmissionMessages);
        lock (gate)
        {
            CheckAlive(session);
            var results = Operations.Each(body.Acknowledgements, acknowledgement => Acknowledge(session, acknowledgement));
            foreach (var subscription in session.Subscriptions)
            {
                subscription.ResetLifetime();
            }

            long? deadline = timeoutHint == 0 ? null : time.GetTimestamp() + (long)(timeoutHint / 1000.0 * time.TimestampFrequency);
            session.Publishing.Enqueue(new PendingPublish(connection, requestId, handle, deadline, results));
            Serve(session);
        }
    }

    /// <exception cref="UaException">BadSubscriptionIdInvalid; BadMessageNotAvailable: acknowledged, dropped, or never sent.</exception>
    public RepublishResponse Republish(Session session, RepublishRequest request)
    {
        lock (gate)
        {
            return new RepublishResponse(Of(session, request.SubscriptionId).Republish(request.RetransmitSequenceNumber)
                ?? throw new UaException(StatusCodes.BadMessageNotAvailable, $"message {request.RetransmitSequenceNumber} is not kept"));
        }
    }

    public uint Cancel(Session session, uint handle)
    {
        lock (gate)
        {
            return session.Publishing.Cancel(handle);
        }
    }

    private static StatusCode Acknowledge(Session session, SubscriptionAcknowledgement acknowledgement) =>
        session.Subscriptions.Find(subscription => subscription.Id == acknowledgement.SubscriptionId) is not { } subscription ? StatusCodes.BadSubscriptionIdInvalid
        : subscription.Acknowledge(acknowledgement.SequenceNumber) ? StatusCodes.Good
        : StatusCodes.BadSequenceNumberUnknown;

    /// <summary>Uses waiting publish requests for what is waiting for them: the highest priority first, then whoever has waited longest.</summary>
    private void Serve(Session session)
    {
        while (session.Publishing.Count > 0 && session.StatusChanges.TryDequeue(out var change))
        {
            var request = session.Publishing.Dequeue();
            request.Answer(new PublishResponse(change.SubscriptionId, [], false, change.Message, request.Results), time.GetUtcNow().UtcDateTime);
        }

        while (session.Publishing.Count > 0 && NextWaiting(session) is { } waiting)
        {
            waiting.OnPublish(session.Publishing);
        }

        FailIfNoSubscription(session);
    }

    private static Subscription? NextWaiting(Session session)
    {
        Subscription? next = null;
        foreach (var subscription in session.Subscriptions)
        {
            if (subscription.WantsPublish
                && (next is null
                    || subscription.Settings.Priority > next.Settings.Priority
                    || (subscription.Settings.Priority == next.Settings.Priority && subscription.WaitingSince < next.WaitingSince)))
            {
                next = subscription;
            }
        }

        return next;
    }

    private static void FailIfNoSubscription(Session session)
    {
        if (session.Subscriptions.Count == 0)
        {
            session.Publishing.FailAll(StatusCodes.BadNoSubscription);
        }
    }

    private void OnTimer(object? state)
    {
        var subscription = (Subscription)state!;
        lock (gate)
        {
            // The timer may have fired while the subscription was being removed.
            if (!subscriptions.TryGetValue(subscription.Id, out var current) || current != subscription)
            {
                return;
            }

            try
            {
                subscription.Session?.Publishing.Expire();
                if (!subscription.OnTimer())
                {
                    End(subscription, StatusCodes.BadTimeout);
                }
            }
            catch (Exception e)
            {
                // Thrown on, it would end the process: the subscription ends instead, and its client is told.
                log.RequestFailed(subscription.Session?.Connection.Address ?? "", "a subscription", e);
                End(subscription, StatusCodes.BadInternalError);
            }
        }
    }

    /// <summary>Row 27.</summary>
    private void End(Subscription subscription, StatusCode why)
    {
        Tell(subscription, why);
        var session = subscription.Session;
        Remove(subscription);
        if (session is not null)
        {
            Serve(session);
        }
    }

    /// <summary>Keeps a last message for the session that has the subscription now; the oldest of such messages gives way.</summary>
    private void Tell(Subscription subscription, StatusCode status)
    {
        if (subscription.Session is not { } session)
        {
            return;
        }

        if (session.StatusChanges.Count == limits.MaxSubscriptionsPerSession)
        {
            session.StatusChanges.Dequeue();
        }

        session.StatusChanges.Enqueue((subscription.Id, subscription.StatusChange(status)));
    }
}
