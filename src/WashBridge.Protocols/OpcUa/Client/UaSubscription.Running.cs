namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>From one session to the next (OPC 10000-4, 6.7): go on with what the server kept, else begin anew.</summary>
public sealed partial class UaSubscription
{
    /// <summary>Messages asked for after a reconnection before publishing goes on; the rest shows up as a gap.</summary>
    private const int MaxCaughtUp = 10_000;

    private static readonly TimeSpan FirstRetry = TimeSpan.FromSeconds(1);

    private uint id;
    private UaSession? session;
    private Publisher? publisher;
    private volatile RevisedTimes revised;
    private volatile bool isRunning;
    private bool isCreated;
    private Attachment? postponed;
    private bool isInterrupted = true;
    private NamespaceTable? createdUnder;
    private long silenceLimit = long.MaxValue;
    private long retryAt = long.MaxValue;
    private TimeSpan retryWait = FirstRetry;
    private int isRetryWaiting;

    /// <summary>Looks whether something is due. Called by the connection a few times a second.</summary>
    internal void Tick(long now)
    {
        if (isRunning && now - Volatile.Read(ref lastHeard) > Volatile.Read(ref silenceLimit))
        {
            Volatile.Write(ref lastHeard, now);
            ReportLost($"nothing was heard of it, though a keep-alive was due every {KeepAlive.TotalSeconds:0.0} s", isSilent: true);
        }

        if (now >= Volatile.Read(ref retryAt) && Interlocked.Exchange(ref isRetryWaiting, 1) == 0)
        {
            mailbox.Post(new Work(WorkKind.Retry));
        }
    }

    private UaSession Session() => session ?? throw new UaException(StatusCodes.BadNotConnected, "there is no session");

    private async Task TakeSessionAsync(Attachment attachment)
    {
        (session, publisher) = (attachment.Session, attachment.Publisher);
        if (!attachment.IsKept || !isCreated || !SameNamespaces(session.Namespaces))
        {
            await CreateAnewAsync();
            return;
        }

        try
        {
            await CatchUpAsync();
        }
        catch (UaException e) when (!session.IsLost)
        {
            // Slow, perhaps: the session is still there, so nothing is given up.
            ClientLog.SubscriptionRefused(logger, spec.Name, options.Endpoint, e.Message, FirstRetry);
            postponed = attachment;
            ScheduleRetry(FirstRetry);
            return;
        }

        publisher.Register(this, id);
        Volatile.Write(ref lastHeard, time.GetTimestamp());
        isRunning = true;
        ScheduleItemRetry();
        Resume(continuous: lossesSinceInterruption == 0);
    }

    /// <summary>Republish until there is nothing more (OPC 10000-4, 6.7).</summary>
    private async Task CatchUpAsync()
    {
        await DeliverAheadAsync();
        for (var i = 0; i < MaxCaughtUp && await RepublishNextAsync(); i++)
        {
            // The next one.
        }
    }

    private void TakeInterruption(Interruption interruption)
    {
        if (session is not null && publisher is not null && id != 0)
        {
            publisher.Unregister(id);
        }

        (session, publisher, postponed, isRunning) = (null, null, null, false);
        SayInterrupted(interruption.Reason, interruption.Stamp);
    }

    private async Task TakeLossAsync(Loss loss)
    {
        if (loss.Id == id && session is not null)
        {
            if (loss.IsSilent)
            {
                publisher!.TakeSilence(KeepAlive);
            }

            await RecreateAsync(loss.Reason);
        }
    }

    private async Task RecreateAsync(string reason)
    {
        ClientLog.SubscriptionLost(logger, spec.Name, id, options.Endpoint, reason);
        isRunning = false;
        SayInterrupted(reason, time.GetTimestamp());
        await CreateAnewAsync();
    }

    private async Task CreateAnewAsync()
    {
        postponed = null;
        DeliverRest();
        try
        {
            await DeleteAsync();
            await CreateAsync();
        }
        catch (UaException e) when (session is { IsLost: false })
        {
            // The session is good, the subscription is not: later, perhaps.
            ClientLog.SubscriptionRefused(logger, spec.Name, options.Endpoint, e.Message, retryWait);
            ScheduleRetry(retryWait);
            retryWait = retryWait * 2 < options.ItemRetryInterval ? retryWait * 2 : options.ItemRetryInterval;
            return;
        }

        retryWait = FirstRetry;
        isRunning = true;
        Resume(continuous: false);
        ReportItems();
        ScheduleItemRetry();
    }

    /// <summary>What came early and waited for something that nobody will send any more.</summary>
    private void DeliverRest()
    {
        foreach (var message in ahead)
        {
            hasGap = true;
            Deliver(message.Body.Message, message.Sent, message.Received, NotificationOrigin.Published, message.Body.MoreNotifications);
        }

        ahead.Clear();
    }

    private async Task TakeRetryAsync()
    {
        Volatile.Write(ref isRetryWaiting, 0);
        ScheduleRetry(null);
        if (session is null)
        {
            return; // a new session tries everything anyway
        }

        if (postponed is { } attachment)
        {
            await TakeSessionAsync(attachment);
            return;
        }

        if (!isCreated || !isRunning)
        {
            await CreateAnewAsync();
            return;
        }

        try
        {
            await RetryItemsAsync();
        }
        finally
        {
            ScheduleItemRetry();
        }
    }

    private void ScheduleItemRetry() => ScheduleRetry(items.Exists(static i => !i.IsWatched) ? options.ItemRetryInterval : null);

    private void ScheduleRetry(TimeSpan? wait) =>
        Volatile.Write(ref retryAt, wait is { } w ? time.GetTimestamp() + (long)(w.TotalSeconds * time.TimestampFrequency) : long.MaxValue);

    private bool SameNamespaces(NamespaceTable now) => createdUnder is { } then && then.Uris.AsSpan().SequenceEqual(now.Uris.AsSpan());

    private void SayInterrupted(string reason, long stamp)
    {
        if (!isInterrupted)
        {
            (isInterrupted, lossesSinceInterruption) = (true, 0);
            Tell(static (listener, i) => listener.OnInterrupted(i.reason, i.stamp), (reason, stamp));
        }
    }

    private void Resume(bool continuous)
    {
        isInterrupted = false;
        Tell(static (listener, c) => listener.OnResumed(c), continuous);
    }

    /// <summary>The last thing done.</summary>
    private async Task EndAsync()
    {
        if (session is null || id == 0)
        {
            return;
        }

        publisher?.Unregister(id);
        try
        {
            await session.DeleteSubscriptionsAsync([id], CancellationToken.None);
        }
        catch (UaException)
        {
            // Its lifetime ends it.
        }

        (session, isRunning) = (null, false);
    }
}
