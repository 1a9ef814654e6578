using WashBridge.Protocols.OpcUa.Channels;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>As long as a session lives: publishing, keep-alives, and a second connection as soon as the first seems dead.</summary>
public sealed partial class UaConnection
{
    /// <summary>How often the subscriptions' watchdogs and retries are looked at.</summary>
    private static readonly TimeSpan Tick = TimeSpan.FromMilliseconds(500);

    /// <summary>Reading the clock is worth a request even if messages show that the server lives.</summary>
    private static readonly TimeSpan ClockInterval = TimeSpan.FromSeconds(5);

    /// <summary>Runs until the session is of no more use.</summary>
    /// <returns>A channel that is open already to go on with; null: there is none.</returns>
    private async Task<IServiceChannel?> LiveAsync(Established established)
    {
        var current = established.Session;
        var publishing = new Publisher(current, options, logger, time);
        using var ending = CancellationTokenSource.CreateLinkedTokenSource(stopping.Token);
        wasConnected = true;
        backoff.Succeeded();
        counters.AddConnection();
        Begin(current, publishing, established.Kept);

        // Not waited for: a listener may be taking its time in it, which must not keep us from connecting anew.
        _ = publishing.RunAsync(ending.Token);
        IServiceChannel? candidate = null;
        try
        {
            candidate = await WatchAsync(current, ending.Token);
        }
        finally
        {
            ending.Cancel();
            await End(current, await ReasonAsync(current, candidate));
        }

        return candidate;
    }

    private void Begin(UaSession current, Publisher publishing, IReadOnlySet<UaSubscription> keptSubscriptions)
    {
        lock (gate)
        {
            (session, publisher, state) = (current, publishing, UaConnectionState.Connected);
            foreach (var subscription in subscriptions)
            {
                _ = subscription.AttachAsync(new Attachment(current, publishing, keptSubscriptions.Contains(subscription)));
            }

            sessionReady.TrySetResult(current);
        }
    }

    private static async Task<UaException> ReasonAsync(UaSession current, IServiceChannel? candidate) =>
        candidate is not null || !current.IsLost
            ? new UaException(StatusCodes.BadTimeout, "the server does not answer on this connection any more")
            : await current.Closed;

    private async Task End(UaSession current, UaException reason)
    {
        var stamp = time.GetTimestamp();
        lock (gate)
        {
            (session, publisher, state) = (null, null, UaConnectionState.Connecting);
            sessionReady = new TaskCompletionSource<UaSession>(TaskCreationOptions.RunContinuationsAsynchronously);
            foreach (var subscription in subscriptions)
            {
                subscription.Interrupt(reason.Message, stamp);
            }
        }

        if (stopping.IsCancellationRequested)
        {
            await current.DisposeAsync();
            return;
        }

        lock (gate)
        {
            lastError = reason;
        }

        kept = current.IsGivenUp ? null : kept;
        ClientLog.ConnectionLost(logger, options.Endpoint, reason.Message);
        await current.AbandonAsync();
    }

    /// <summary>Keep-alives while there is silence, and the clock now and then. Ends when the session is of no more use.</summary>
    private async Task<IServiceChannel?> WatchAsync(UaSession current, CancellationToken ending)
    {
        var interval = Min(options.KeepAliveInterval, current.SessionTimeout / 3);
        var suspicion = options.SuspectAfter;
        var clockRead = time.GetTimestamp();
        var state = 0;
        TellClock();
        while (!current.IsLost)
        {
            TickSubscriptions();
            var untilProbe = Min(interval - time.GetElapsedTime(current.LastReceived), ClockInterval - time.GetElapsedTime(clockRead));
            if (untilProbe > TimeSpan.Zero)
            {
                await Task.WhenAny(current.Closed, Task.Delay(WholeMilliseconds(Min(untilProbe, Tick)), time, ending));
                ending.ThrowIfCancellationRequested();
                continue;
            }

            var outcome = await ProbeAsync(current, suspicion, ending);
            if (!outcome.IsAlive)
            {
                return outcome.Candidate;
            }

            // A server that is just slow is not asked for a second connection each time.
            suspicion = outcome.WasSuspected ? Min(2 * suspicion, options.RequestTimeout) : suspicion;
            clockRead = time.GetTimestamp();
            TellClock();
            if (current.Status is { } status && status.State != state)
            {
                state = status.State;
                ClientLog.ServerNotRunning(logger, options.Endpoint, state);
            }
        }

        return null;
    }

    /// <summary>Reads the status. If the answer is late, a second channel is opened meanwhile: whichever works first is kept.</summary>
    private async Task<Probe> ProbeAsync(UaSession current, TimeSpan suspicion, CancellationToken ending)
    {
        var answer = AnswersAsync(current, ending);
        await Task.WhenAny(answer, Task.Delay(suspicion, time, ending));
        if (answer.IsCompleted)
        {
            return new Probe(await answer);
        }

        ending.ThrowIfCancellationRequested();
        ClientLog.Suspected(logger, options.Endpoint, time.GetElapsedTime(current.LastReceived));
        using var giveUp = CancellationTokenSource.CreateLinkedTokenSource(ending);
        var opening = OpenQuietlyAsync(current.State.Endpoint, giveUp.Token);
        await Task.WhenAny(answer, opening);
        if (!answer.IsCompleted && await opening is { } candidate)
        {
            return new Probe(IsAlive: false, WasSuspected: true, candidate);
        }

        if (!await answer)
        {
            return new Probe(IsAlive: false, WasSuspected: true, await opening);
        }

        giveUp.Cancel();
        await (await opening is { } unused ? unused.DisposeAsync() : default);
        return new Probe(IsAlive: true, WasSuspected: true);
    }

    /// <summary>Any answer shows that the server lives, even a refusal.</summary>
    private async Task<bool> AnswersAsync(UaSession current, CancellationToken ending)
    {
        try
        {
            if (!await current.ReadStatusAsync(ending) && clock.Current is { } offset)
            {
                ClientLog.ServerClockSet(logger, options.Endpoint, offset.Lower, offset.Upper);
            }

            return true;
        }
        catch (UaServiceException)
        {
            return !current.IsLost;
        }
        catch (Exception e) when (e is UaException or OperationCanceledException)
        {
            return false;
        }
    }

    private async Task<IServiceChannel?> OpenQuietlyAsync(ChosenEndpoint target, CancellationToken giveUp)
    {
        try
        {
            return await opener.OpenChannelAsync(target, giveUp);
        }
        catch (Exception e) when (e is UaException or OperationCanceledException)
        {
            return null;
        }
    }

    private void TickSubscriptions()
    {
        var now = time.GetTimestamp();
        foreach (var subscription in Subscriptions())
        {
            subscription.Tick(now);
        }
    }

    private void TellClock()
    {
        if (clock.Current is { } offset)
        {
            foreach (var subscription in Subscriptions())
            {
                subscription.TellClock(offset);
            }
        }
    }

    /// <summary>Timers cut to milliseconds: rounded down, the last fraction would be waited out in a loop.</summary>
    private static TimeSpan WholeMilliseconds(TimeSpan wait) => TimeSpan.FromMilliseconds(Math.Ceiling(wait.TotalMilliseconds));

    private static TimeSpan Min(TimeSpan a, TimeSpan b) => a < b ? a : b;

    /// <param name="Candidate">Another channel, open already.</param>
    private readonly record struct Probe(bool IsAlive, bool WasSuspected = false, IServiceChannel? Candidate = null);
}
