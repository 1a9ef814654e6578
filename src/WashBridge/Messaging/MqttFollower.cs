using System.Threading.Channels;
using Polly;
using Polly.Retry;
using WashBridge.Configuration;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Telemetry;

namespace WashBridge.Messaging;

/// <summary>
/// Tells a broker, as a Sparkplug edge node, what happens at the washers (SPARKPLUG.md). The log is the only queue: the cursor moves once the broker has what was sent, so that
/// an outage is a longer read. What was missed is told as history, after the birth certificates, which tell the present.
/// </summary>
internal sealed class MqttFollower
{
    private static readonly TimeSpan FarewellPatience = TimeSpan.FromSeconds(5);

    private readonly MqttConfiguration _configuration;
    private readonly Site _site;
    private readonly HistorianSignal _signal;
    private readonly TimeProvider _time;
    private readonly ILogger _logger;
    private readonly MqttFollowerOptions _options;
    private readonly Func<IMqttLink> _connect;
    private readonly PrimaryHost _host = new();
    private readonly Channel<bool> _woken = Channel.CreateBounded<bool>(new BoundedChannelOptions(1) { FullMode = BoundedChannelFullMode.DropWrite });
    private readonly ResiliencePipeline _pipeline;
    private readonly DeviceLog _log;
    private volatile bool _isOnline;
    private volatile MqttCondition? _condition;

    /// <param name="configuration">Where to, and as whom.</param>
    /// <param name="site">Its washers are the devices.</param>
    /// <param name="historian">Read from, and told the cursor.</param>
    /// <param name="signal">Tells when there is more to read.</param>
    /// <param name="time">The clock.</param>
    /// <param name="logger">Event ids 3200 to 3299.</param>
    /// <param name="options">Pace; null: the defaults.</param>
    /// <param name="connect">Makes a link to the broker; null: by TCP.</param>
    public MqttFollower(
        MqttConfiguration configuration,
        Site site,
        IHistorian historian,
        HistorianSignal signal,
        TimeProvider time,
        ILogger<MqttFollower> logger,
        MqttFollowerOptions? options = null,
        Func<IMqttLink>? connect = null)
    {
        (_configuration, _site, _signal, _time, _logger) = (configuration, site, signal, time, logger);
        _options = options ?? new MqttFollowerOptions();
        _connect = connect ?? (() => new MqttLink(configuration, $"washbridge-{site.Id}-{configuration.Id}"));
        Name = NameOf(configuration);
        _pipeline = BuildPipeline();
        _log = new DeviceLog(Name, site, historian, time, _options);
    }

    /// <summary>As in the historian.</summary>
    public string Name { get; }

    public static string NameOf(MqttConfiguration configuration) => $"mqtt/{configuration.Id}";

    public MqttFollowerStatus Status => new(Name, _log.Position, _condition, _isOnline, _log.Held);

    /// <summary>Runs once, until <paramref name="stop"/>. No failure of the broker ends it; one of the historian does, for there is nothing left to follow.</summary>
    public async Task RunAsync(CancellationToken stop)
    {
        _log.Resume();
        MessagingLog.Following(_logger, Name, _log.Position, _log.Waiting);
        try
        {
            while (true)
            {
                await using var session = await _pipeline.ExecuteAsync(EstablishAsync, stop);
                try
                {
                    await FollowAsync(session, stop);
                }
                catch (MqttLinkException e)
                {
                    Fail(e, _options.FirstDelay);
                    await Task.Delay(_options.FirstDelay, _time, stop);
                }
            }
        }
        catch (OperationCanceledException) when (stop.IsCancellationRequested)
        {
            // As asked.
        }

        MessagingLog.Stopped(_logger, Name, _log.Position);
    }

    /// <summary>A session whose birth certificates the broker has.</summary>
    private async ValueTask<EdgeSession> EstablishAsync(CancellationToken stop)
    {
        var bdSeq = _log.NextSession();
        var session = new EdgeSession(_configuration, _site, _connect(), bdSeq, _host, _time, _logger, Name, () => _woken.Writer.TryWrite(true));
        try
        {
            await session.OpenAsync(stop);
            await AwaitHostAsync(session, stop);
            _log.FoldToEnd();
            await session.BirthAsync(_log.Devices, stop);
            await session.ConfirmAsync(stop);
            MessagingLog.Online(_logger, Name, bdSeq, _condition?.Attempts ?? 0);
            _isOnline = true;
            _condition = null;
            return session;
        }
        catch
        {
            await session.DisposeAsync();
            throw;
        }
    }

    private async Task AwaitHostAsync(EdgeSession session, CancellationToken stop)
    {
        // What is retained of the host's state comes right after the subscription: one round trip later it is here.
        await session.ConfirmAsync(stop);
        if (session.IsHostOffline)
        {
            MessagingLog.HostOffline(_logger, Name, _configuration.PrimaryHost!);
            _condition = new MqttCondition(NeedsAction: false, $"the primary host {_configuration.PrimaryHost} is not online: data is held", _time.GetUtcNow(), 0);
        }

        while (session.IsHostOffline)
        {
            await AwaitAsync(session, long.MaxValue, stop);
        }
    }

    /// <summary>Sends what is held and what comes, until the connection is lost, the host goes offline or the service stops.</summary>
    private async Task FollowAsync(EdgeSession session, CancellationToken stop)
    {
        try
        {
            while (!session.IsHostOffline)
            {
                if (session.IsRebirthWanted)
                {
                    await session.BirthAsync(_log.Devices, stop);
                }
                else if (_log.Devices.FirstOrDefault(d => d is { IsBorn: true, HeldFrom: not null }) is { } behind)
                {
                    await ReplayAsync(session, behind, stop);
                }
                else if (!await SendNewAsync(session, stop))
                {
                    await AwaitAsync(session, _log.Position, stop);
                }
            }
        }
        catch (OperationCanceledException) when (stop.IsCancellationRequested)
        {
            await CloseAsync(session);
            throw;
        }

        // The one broker we have is where it will come back: connect anew and wait for it there (5.5).
        await CloseAsync(session);
    }

    private async Task CloseAsync(EdgeSession session)
    {
        _isOnline = false;
        using var limit = new CancellationTokenSource(FarewellPatience, _time);
        try
        {
            await session.CloseAsync(limit.Token);
        }
        catch (Exception e) when (e is MqttLinkException or OperationCanceledException)
        {
            // Then the broker sends the will.
        }
    }

    /// <summary>One page of what a washer's devices did not hear of, as history.</summary>
    private async Task ReplayAsync(EdgeSession session, Device device, CancellationToken stop)
    {
        var entries = _log.ReadHeld(device);
        await session.TellAsync(device, entries.SelectMany(e => device.Replay(e.Event!)), isHistorical: true, stop);
        await session.ConfirmAsync(stop);
        if (entries.Count < _options.MaxEntries)
        {
            device.AllSent();
        }
        else
        {
            device.SentTo(entries[^1].Sequence);
        }

        _log.Save();
    }

    /// <summary>One page of the log as it comes. It ends early where a washer dies or is born, so that nothing of it overtakes its certificates.</summary>
    /// <returns>False: there was nothing.</returns>
    private async Task<bool> SendNewAsync(EdgeSession session, CancellationToken stop)
    {
        var entries = _log.ReadNew();
        if (entries.Count == 0)
        {
            return false;
        }

        using var span = Traces.Follow("publish", Name, _signal.Trail, _log.Position, entries[^1].Sequence);
        var changes = new Dictionary<Device, List<MetricChange>>();
        Device? turned = null;
        foreach (var entry in entries)
        {
            var (device, made) = _log.Take(entry);
            if (device is null)
            {
                continue;
            }

            if (device.IsBorn)
            {
                (changes.TryGetValue(device, out var list) ? list : changes[device] = []).AddRange(made);
            }

            if (device.IsBorn != device.Present.IsRead)
            {
                turned = device;
                break;
            }
        }

        foreach (var (device, list) in changes)
        {
            await session.TellAsync(device, list, isHistorical: false, stop);
            await session.TellStateAsync(device, stop);
        }

        if (turned is not null)
        {
            await (turned.IsBorn ? session.DieAsync(turned, stop) : session.BirthAsync(turned, stop));
        }

        await session.ConfirmAsync(stop);
        foreach (var device in changes.Keys)
        {
            device.AllSent();
        }

        _log.Save();
        await Task.Delay(_options.Gather, _time, stop);
        return true;
    }

    /// <summary>Returns when the log has grown beyond <paramref name="position"/>, something came in, or it was long enough quiet to ask for a sign of life.</summary>
    private async Task AwaitAsync(EdgeSession session, long position, CancellationToken stop)
    {
        session.ThrowIfLost();
        using var either = CancellationTokenSource.CreateLinkedTokenSource(stop);
        var quiet = Task.Delay(_options.Heartbeat, _time, either.Token);
        var grown = _signal.WaitAsync(position, either.Token).AsTask();
        var woken = _woken.Reader.ReadAsync(either.Token).AsTask();
        var first = await Task.WhenAny(grown, woken, quiet);
        await either.CancelAsync();
        await Task.WhenAll(grown, woken, quiet).ContinueWith(_ => { }, CancellationToken.None, TaskContinuationOptions.ExecuteSynchronously, TaskScheduler.Default);
        stop.ThrowIfCancellationRequested();
        if (first == quiet)
        {
            await session.ConfirmAsync(stop);
        }

        session.ThrowIfLost();
    }

    private ResiliencePipeline BuildPipeline()
    {
        var retry = new RetryStrategyOptions
        {
            ShouldHandle = args => ValueTask.FromResult(args.Outcome.Exception is MqttLinkException),
            BackoffType = DelayBackoffType.Exponential,
            UseJitter = true,
            Delay = _options.FirstDelay,
            MaxDelay = _options.LongestDelay,
            MaxRetryAttempts = int.MaxValue,
            OnRetry = args =>
            {
                Fail((MqttLinkException)args.Outcome.Exception!, args.RetryDelay);
                return default;
            },
        };
        if (_options.Jitter is { } jitter)
        {
            retry.Randomizer = jitter;
        }

        return new ResiliencePipelineBuilder { TimeProvider = _time }.AddRetry(retry).Build();
    }

    /// <summary>Told once, and again when the reason changes; in between only to who listens closely.</summary>
    private void Fail(MqttLinkException cause, TimeSpan delay)
    {
        var needsAction = cause.Failure is MqttFailure.Unauthorised or MqttFailure.Tls or MqttFailure.Refused;
        _isOnline = false;
        MqttInstruments.Failed(Name, cause.Failure);
        var before = _condition;
        _condition = new MqttCondition(needsAction, cause.Message, before?.Since ?? _time.GetUtcNow(), (before?.Attempts ?? 0) + 1);
        if (before?.Reason == cause.Message)
        {
            MessagingLog.Retrying(_logger, Name, cause.Failure, delay, cause.Message);
        }
        else if (needsAction)
        {
            MessagingLog.NeedsAction(_logger, Name, cause.Failure, delay, cause.Message);
        }
        else
        {
            MessagingLog.Failing(_logger, Name, cause.Failure, delay, cause.Message);
        }
    }
}
