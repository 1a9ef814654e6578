using WashBridge.Protocols.OpcUa.Channels;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>From no connection to a session, as often as needed.</summary>
public sealed partial class UaConnection
{
    private const int AttemptsBeforeDiscovery = 3;

    private ChosenEndpoint? endpoint;

    /// <summary>Of the last session, as long as the server may still have it.</summary>
    private SessionState? kept;

    private bool wasConnected;

    private async Task RunAsync()
    {
        IServiceChannel? candidate = null;
        try
        {
            while (true)
            {
                candidate = await RunOnceAsync(candidate);
            }
        }
        catch (OperationCanceledException) when (stopping.IsCancellationRequested)
        {
            // As asked.
        }
    }

    private async Task<IServiceChannel?> RunOnceAsync(IServiceChannel? candidate)
    {
        try
        {
            return await LiveAsync(await EstablishAsync(candidate));
        }
        catch (Exception e) when (!stopping.IsCancellationRequested)
        {
            // A mistake of ours must not leave the server unwatched for ever.
            ClientLog.SupervisionFailed(logger, options.Endpoint, e);
            (kept, endpoint) = (null, null);
            await Task.Delay(options.MaxRetryInterval, time, stopping.Token);
            return null;
        }
    }

    /// <param name="candidate">A channel that is open already.</param>
    private async Task<Established> EstablishAsync(IServiceChannel? candidate)
    {
        while (true)
        {
            UaException failure;
            var channel = candidate;
            candidate = null;
            try
            {
                endpoint ??= await opener.DiscoverAsync(stopping.Token);
                channel ??= await opener.OpenChannelAsync(endpoint, stopping.Token);
                return await ReactivateAsync(channel) ?? await CreateAsync(channel);
            }
            catch (UaException e)
            {
                failure = e;
            }
            catch (OperationCanceledException)
            {
                await (channel?.DisposeAsync() ?? default);
                throw;
            }

            await (channel?.DisposeAsync() ?? default);
            await PauseAfterAsync(failure);
        }
    }

    private async Task PauseAfterAsync(UaException failure)
    {
        var wait = backoff.Next(failure, wasConnected);
        lock (gate)
        {
            (lastError, state) = (failure, backoff.IsRefused ? UaConnectionState.Refused : UaConnectionState.Connecting);
        }

        // An hour of the same trouble is not an hour of log.
        if (System.Numerics.BitOperations.IsPow2(backoff.Attempts))
        {
            ClientLog.CannotConnect(logger, options.Endpoint, backoff.Attempts, failure.Message);
        }

        // What the server is may have changed: ask it again. A port that refuses says nothing about that, and one broken connection little.
        if (SessionLoss.NeedsPerson(failure.Status) || (failure.Status != StatusCodes.BadCommunicationError && backoff.Attempts >= AttemptsBeforeDiscovery))
        {
            endpoint = null;
        }

        await Task.Delay(wait, time, stopping.Token);
    }

    /// <returns>Null: there is no session to go on with.</returns>
    private async Task<Established?> ReactivateAsync(IServiceChannel channel)
    {
        if (kept is null)
        {
            return null;
        }

        try
        {
            var session = await opener.ActivateAsync(channel, kept, stopping.Token);
            ClientLog.Reactivated(logger, options.Endpoint);
            return new Established(session, new HashSet<UaSubscription>(Subscriptions()));
        }
        catch (UaServiceException e)
        {
            ClientLog.SessionGone(logger, options.Endpoint, e.Message);
            kept = null;
            return null;
        }
    }

    private async Task<Established> CreateAsync(IServiceChannel channel)
    {
        var session = await opener.CreateAsync(channel, endpoint!, clock, stopping.Token);
        kept = session.State;
        counters.AddSession();
        var chosen = session.State.Endpoint;
        ClientLog.Connected(logger, options.Endpoint, chosen.Description.Server.ApplicationUri, chosen.Policy, chosen.Description.SecurityMode, options.Identity, session.SessionTimeout);
        return new Established(session, await TransferAsync(session));
    }

    /// <summary>OPC 10000-4, 5.14.7.</summary>
    /// <returns>Those that the server has taken over into the session.</returns>
    private async Task<IReadOnlySet<UaSubscription>> TransferAsync(UaSession session)
    {
        HashSet<UaSubscription> transferred = [];
        UaSubscription[] old = [.. Subscriptions().Where(s => s.Id != 0)];
        if (old.Length == 0)
        {
            return transferred;
        }

        try
        {
            var results = await session.TransferSubscriptionsAsync([.. old.Select(s => s.Id)], stopping.Token);
            foreach (var (subscription, result) in old.Zip(results))
            {
                if (!result.Status.IsBad)
                {
                    ClientLog.SubscriptionTransferred(logger, subscription.Spec.Name, subscription.Id, options.Endpoint);
                    counters.AddTransfer();
                    transferred.Add(subscription);
                }
            }
        }
        catch (UaServiceException)
        {
            // Not every server can: they are created anew.
        }

        return transferred;
    }

    /// <param name="Kept">Subscriptions that the server should still have.</param>
    private sealed record Established(UaSession Session, IReadOnlySet<UaSubscription> Kept);
}
