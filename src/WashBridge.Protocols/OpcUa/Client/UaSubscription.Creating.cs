using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>Making the subscription at the server, and removing it (OPC 10000-4, 5.14.2, 5.14.3 and 5.14.8).</summary>
public sealed partial class UaSubscription
{
    /// <summary>Forgets the subscription, and asks the server to do so if it can be asked.</summary>
    private async Task DeleteAsync()
    {
        if (id == 0)
        {
            return;
        }

        publisher?.Unregister(id);
        var old = id;
        (id, isCreated) = (0, false);
        try
        {
            await Session().DeleteSubscriptionsAsync([old], ending.Token);
        }
        catch (UaServiceException e) when (!SessionLoss.IsMeantBy(e.Status))
        {
            // It is gone already.
        }
    }

    private async Task CreateAsync()
    {
        (next, hasGap, needsReadAnew) = (1, true, false);
        outOfTurn.Clear();
        createdUnder = Session().Namespaces;
        var created = await Session().CreateSubscriptionAsync(SubscriptionTimes.Request(spec), ending.Token);
        id = created.SubscriptionId;
        TakeRevised(created.RevisedPublishingInterval, created.RevisedMaxKeepAliveCount, created.RevisedLifetimeCount);
        if (SubscriptionTimes.Correction(spec, created) is { } correction)
        {
            await CorrectAsync(correction);
        }

        Volatile.Write(ref lastHeard, time.GetTimestamp());
        publisher!.Register(this, id);
        await CreateItemsAsync(items);
        isCreated = true;
        counters.AddSubscription();
        ClientLog.SubscriptionCreated(logger, spec.Name, id, options.Endpoint, items.Count, PublishingInterval, KeepAlive, revised.Lifetime, items.Count(i => !i.IsWatched));
    }

    /// <summary>The counts were made for another interval than the server gave.</summary>
    private async Task CorrectAsync(ModifySubscriptionRequest correction)
    {
        try
        {
            var modified = await Session().ModifySubscriptionAsync(correction, ending.Token);
            TakeRevised(modified.RevisedPublishingInterval, modified.RevisedMaxKeepAliveCount, modified.RevisedLifetimeCount);
        }
        catch (UaServiceException e) when (!SessionLoss.IsMeantBy(e.Status))
        {
            // What was given is used.
        }
    }

    private void TakeRevised(double interval, uint keepAliveCount, uint lifetimeCount)
    {
        var publishing = SubscriptionTimes.Interval(interval);
        revised = new RevisedTimes(publishing, SubscriptionTimes.Multiple(publishing, Math.Max(1, keepAliveCount)), SubscriptionTimes.Multiple(publishing, Math.Max(3, lifetimeCount)));
        var slack = options.RequestTimeout > publishing ? options.RequestTimeout : publishing;
        Volatile.Write(ref silenceLimit, (long)((revised.KeepAlive + slack).TotalSeconds * time.TimestampFrequency));
    }
}
