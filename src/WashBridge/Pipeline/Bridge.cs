using WashBridge.Analysing;
using WashBridge.Certificates;
using WashBridge.Configuration;
using WashBridge.Historian;
using WashBridge.Pairing;
using WashBridge.Polling;
using WashBridge.Subscribing;

namespace WashBridge.Pipeline;

/// <summary>
/// The running system: sources -> intake -> historian -> analyst, analysis and forwarders. It owns their tasks and the order in which they stop:
/// first the sources, then the intake once it has committed all, then the followers once they have seen all, the analysis after the analyst whose events it reads.
/// </summary>
internal sealed class Bridge : IDisposable
{
    private static readonly TimeSpan SaveClockEvery = TimeSpan.FromMinutes(1);

    private readonly Site _site;
    private readonly IHistorian _historian;
    private readonly TimeProvider _time;
    private readonly ILoggerFactory _loggers;
    private readonly SteadyClock _clock;
    private readonly ClockKeeper _clockKeeper;
    private readonly FrameIntake _intake;
    private readonly Analyst _analyst;
    private readonly AnalysisFollower _analysis;
    private readonly IReadOnlyList<Func<CancellationToken, Task>> _followers;

    /// <param name="followers">What runs beside the analyst until cancelled, such as the InfluxDB follower.</param>
    /// <param name="opcUa">Needed where a washer is read over OPC UA.</param>
    /// <param name="role">Whether this bridge's reads go into the log; where the site is one of a pair, it is told here.</param>
    /// <param name="partner">The other of a pair; null: by HTTP, as the site says.</param>
    /// <param name="bootId">See <see cref="ClockKeeper.ReadBootId"/>; null when time is not the machine's own.</param>
    public Bridge(Site site, IHistorian historian, HistorianSignal signal, IReadOnlyList<Func<CancellationToken, Task>> followers, TimeProvider time, ILoggerFactory loggers, string? bootId, OpcUaApplication? opcUa = null, ReadingRole? role = null, IPartner? partner = null)
    {
        (_site, _historian, _followers, _time, _loggers) = (site, historian, followers, time, loggers);
        Signal = signal;
        signal.Publish(historian.LastSequence);
        SiteFollowers.Enlist(site, historian);
        _clock = new SteadyClock(time);
        _clockKeeper = new ClockKeeper(historian, bootId);
        _intake = new FrameIntake(historian, Signal, time, loggers.CreateLogger<FrameIntake>());
        var gate = site.Pair is null ? null : new FoldGate();
        _analyst = new Analyst(historian, site.Washers, gate);
        _analysis = new AnalysisFollower(historian, site, loggers.CreateLogger<AnalysisFollower>(), gate);
        if (site.Pair is { } pair)
        {
            Pair = new Pair(
                site, historian, signal, partner ?? new HttpPartner(pair, time), _intake, role ?? new ReadingRole(pair.Partner), gate!, () => (_analyst.Settled, _analysis.Settled), time, loggers.CreateLogger<Pair>());
        }

        Sources = MakeSources(opcUa);
    }

    public HistorianSignal Signal { get; }

    public IReadOnlyList<IFrameSource> Sources { get; }

    /// <summary>Null: this bridge is alone.</summary>
    public Pair? Pair { get; }

    /// <summary>It has begun and has not ended.</summary>
    public bool IsRunning { get; private set; }

    /// <summary>Why frames cannot be committed; null: nothing is known to stand in the way.</summary>
    public string? CommitTrouble => _intake.Trouble;

    /// <summary>Frames that wait to be committed.</summary>
    public int FramesWaiting => _intake.Waiting;

    /// <summary>All frames up to this place in the log are folded and judged.</summary>
    public long AnalystAt => _analyst.Cursor;

    /// <summary>All events up to this place in the log are analysed.</summary>
    public long AnalysisAt => _analysis.Cursor;

    /// <summary>Runs until cancelled, then stops in order. Throws if any part failed: a part that died is never left unnoticed.</summary>
    public async Task RunAsync(CancellationToken cancellation)
    {
        using var polling = CancellationTokenSource.CreateLinkedTokenSource(cancellation);
        using var following = new CancellationTokenSource();
        using var analysing = new CancellationTokenSource();
        var intakeTask = Task.Run(_intake.RunAsync, CancellationToken.None);
        var ownTask = Pair is { } pair ? Task.Run(pair.TakeOwnAsync, CancellationToken.None) : null;
        var analystTask = Task.Run(() => _analyst.RunAsync(Signal, following.Token), CancellationToken.None);
        List<Task> readers =
        [
            analystTask,
            Task.Run(() => _analysis.RunAsync(Signal, analysing.Token), CancellationToken.None),
            .. _followers.Select(f => Task.Run(() => f(following.Token), CancellationToken.None)),
        ];
        List<Task> sources =
        [
            Task.Run(() => KeepClockAsync(polling.Token), CancellationToken.None),
            Task.Run(() => new Housekeeping(_historian, _site.Store, _time, _loggers.CreateLogger<Housekeeping>()).RunAsync(polling.Token), CancellationToken.None),
            .. Sources.Select(s => Task.Run(() => s.RunAsync(polling.Token), CancellationToken.None)),
        ];
        if (Pair is { } contact)
        {
            sources.Add(Task.Run(() => contact.KeepContactAsync(polling.Token), CancellationToken.None));
        }

        // None of these ends by itself: whichever ends first was either cancelled or has failed.
        IsRunning = true;
        await Task.WhenAny([intakeTask, .. ownTask is null ? (Task[])[] : [ownTask], .. readers, .. sources]);
        IsRunning = false;
        await polling.CancelAsync();
        await Task.WhenAll(sources).ContinueWith(_ => { }, CancellationToken.None, TaskContinuationOptions.ExecuteSynchronously, TaskScheduler.Default);
        if (ownTask is not null)
        {
            Pair!.Writer.Complete();
            await Task.WhenAny(ownTask);
        }

        _intake.Writer.Complete();
        await Task.WhenAny(intakeTask);
        await following.CancelAsync();
        await Task.WhenAny(analystTask);
        await analysing.CancelAsync();
        await Task.WhenAll([intakeTask, ownTask ?? Task.CompletedTask, .. readers, .. sources]);
    }

    public void Dispose() => Pair?.Dispose();

    private List<IFrameSource> MakeSources(OpcUaApplication? opcUa)
    {
        var anchor = _clock.Current();
        var sinceLastRun = _clockKeeper.SinceLastRun(anchor);
        _clockKeeper.Save(anchor);
        var output = Pair?.Writer ?? _intake.Writer;
        return [.. _site.Washers.Select(washer => washer.Connection switch
        {
            OpcUaConnection connection => (IFrameSource)new OpcUaSubscriber(
                washer,
                () => OpcUaSettings.ClientOptions(connection, opcUa ?? throw new InvalidOperationException($"{washer.Model.Washer} needs certificates")),
                output,
                _clock,
                sinceLastRun,
                _time,
                _loggers.CreateLogger<OpcUaSubscriber>()),
            _ => new ModbusPoller(washer, output, _clock, sinceLastRun, _time, _loggers.CreateLogger<ModbusPoller>()),
        })];
    }

    private async Task KeepClockAsync(CancellationToken cancellation)
    {
        using var timer = new PeriodicTimer(SaveClockEvery, _time);
        try
        {
            while (await timer.WaitForNextTickAsync(cancellation))
            {
                _clockKeeper.Save(_clock.Current());
            }
        }
        catch (OperationCanceledException) when (cancellation.IsCancellationRequested)
        {
            _clockKeeper.Save(_clock.Current());
        }
    }
}
