using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <content>Taking subscriptions over (OPC 10000-4, 5.14.7).</content>
internal sealed partial class SubscriptionManager
{
    public TransferSubscriptionsResponse Transfer(Session session, TransferSubscriptionsRequest request)
    {
        Operations.Check(request.SubscriptionIds.Count, limits.MaxSubscriptionsPerSession);
        lock (gate)
        {
            CheckAlive(session);
            var response = new TransferSubscriptionsResponse(Operations.Each(request.SubscriptionIds, id => Transfer(session, id, request.SendInitialValues)));
            Serve(session);
            return response;
        }
    }

    /// <summary>Rows 22 to 24 of the state table.</summary>
    private TransferResult Transfer(Session session, uint id, bool sendInitialValues)
    {
        if (!subscriptions.TryGetValue(id, out var subscription))
        {
            return new TransferResult(StatusCodes.BadSubscriptionIdInvalid, []);
        }

        if (subscription.Session == session)
        {
            subscription.ResetLifetime();
            return new TransferResult(StatusCodes.BadNothingToDo, []);
        }

        if (!SubscriptionOwner.Of(session).MayTakeOver(subscription.Owner, options.AllowUnprotectedTransfer))
        {
            return new TransferResult(StatusCodes.BadUserAccessDenied, []);
        }

        if (session.Subscriptions.Count >= limits.MaxSubscriptionsPerSession)
        {
            return new TransferResult(StatusCodes.BadTooManySubscriptions, []);
        }

        if (subscription.Session is { } before)
        {
            Tell(subscription, StatusCodes.GoodSubscriptionTransferred);
            before.Subscriptions.Remove(subscription);
            Serve(before);
        }

        subscription.MoveTo(session);
        session.Subscriptions.Add(subscription);
        if (sendInitialValues)
        {
            foreach (var item in subscription.Items)
            {
                item.Repeat();
            }
        }

        return new TransferResult(StatusCodes.Good, subscription.AvailableSequenceNumbers());
    }
}
