using System.Diagnostics;
using System.Threading.Channels;
using Polly;
using Polly.Retry;
using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Pipeline;
using WashBridge.Protocols.Modbus;
using WashBridge.Telemetry;

namespace WashBridge.Polling;

/// <summary>
/// Reads one washer: one connection, one owner. Connects, polls each group on its own schedule, and writes a frame for every poll, whether it
/// brought values or failed. Reconnects for ever, with back-off and jitter; the first cause of an outage is what the frames and the log keep.
/// </summary>
internal sealed partial class ModbusPoller : IFrameSource
{
    /// <summary>A device that misses this many replies in a row gets a fresh connection.</summary>
    private const int TimeoutsBeforeReconnect = 3;
    private static readonly TimeSpan FirstRetry = TimeSpan.FromMilliseconds(200);
    private static readonly TimeSpan SlowestRetry = TimeSpan.FromSeconds(10);

    private readonly WasherConfiguration _washer;
    private readonly ChannelWriter<Frame> _output;
    private readonly SteadyClock _clock;
    private readonly ClockShift _sinceLastRun;
    private readonly TimeProvider _time;
    private readonly ILogger _logger;
    private readonly ResiliencePipeline _reconnecting;
    private readonly List<GroupPoll> _groups;
    private readonly KeyValuePair<string, object?> _tag;
    private ClockAnchor _anchor;

    public ModbusPoller(WasherConfiguration washer, ChannelWriter<Frame> output, SteadyClock clock, ClockShift sinceLastRun, TimeProvider time, ILogger<ModbusPoller> logger)
    {
        (_washer, _output, _clock, _sinceLastRun, _time, _logger) = (washer, output, clock, sinceLastRun, time, logger);
        _tag = new KeyValuePair<string, object?>(Measures.Washer, washer.Model.Washer);
        _anchor = clock.Current();
        _groups = [.. washer.Groups.Select(g => new GroupPoll(washer, g))];
        _reconnecting = new ResiliencePipelineBuilder { TimeProvider = time }
            .AddRetry(new RetryStrategyOptions
            {
                MaxRetryAttempts = int.MaxValue,
                BackoffType = DelayBackoffType.Exponential,
                UseJitter = true,
                Delay = FirstRetry,
                MaxDelay = SlowestRetry,
                ShouldHandle = new PredicateBuilder().Handle<ModbusException>(e => e.IsTransient),
                OnRetry = async retry => await FailAsync(_groups, retry.Outcome.Exception!.Message, time.GetTimestamp()),
            })
            .Build();
    }

    public string Washer => _washer.Model.Washer;

    public string? Trouble => _groups.Select(g => g.Trouble).FirstOrDefault(t => t is not null);

    public ReadCounts CountsOf(int group) => _groups.Find(g => g.Number == group)?.Counts ?? default;

    /// <summary>Runs until cancelled.</summary>
    public async Task RunAsync(CancellationToken cancellation)
    {
        try
        {
            await WriteAsync(ClockFrame(_sinceLastRun, "watching began"));
            while (true)
            {
                await using var client = await _reconnecting.ExecuteAsync(ConnectAsync, cancellation);
                await PollAsync(client, cancellation);
            }
        }
        catch (OperationCanceledException) when (cancellation.IsCancellationRequested)
        {
        }
    }

    private async ValueTask<ModbusClient> ConnectAsync(CancellationToken cancellation)
    {
        var options = ModbusSettings.ClientOptions((ModbusConnection)_washer.Connection);
        var client = await ModbusClient.ConnectAsync(options, _logger, _time, cancellation);
        Connected(_logger, Washer, options.Host, options.Port);
        return client;
    }

    /// <summary>Polls until the connection is of no more use.</summary>
    private async Task PollAsync(ModbusClient client, CancellationToken cancellation)
    {
        var start = _time.GetTimestamp();
        foreach (var group in _groups)
        {
            group.Begin(start, _time.TimestampFrequency);
        }

        var timeouts = 0;
        while (true)
        {
            var next = _groups.MinBy(g => g.Schedule.Due)!;
            await WaitUntilAsync(next.Schedule.Due, cancellation);
            await TellClockStepsAsync();
            var begun = _time.GetTimestamp();
            PollingInstruments.Lateness.Record((begun - next.Schedule.Due) / (double)_time.TimestampFrequency, _tag);
            using var span = Traces.Poll(Washer, next.Name);
            try
            {
                var frame = await next.ReadAsync(client, _anchor, cancellation);
                Traces.Tie(frame, span);
                PollingInstruments.Duration.Record((_time.GetTimestamp() - begun) / (double)_time.TimestampFrequency, _tag);
                timeouts = 0;
                await WriteAsync(frame);
            }
            catch (ModbusException failure)
            {
                PollingInstruments.Failures.Add(1, _tag);
                span?.SetStatus(ActivityStatusCode.Error, failure.Message);
                var connected = failure is ModbusTimeoutException && ++timeouts < TimeoutsBeforeReconnect;
                await FailAsync(connected ? [next] : _groups, failure.Message, begun);
                if (!connected)
                {
                    return;
                }
            }

            if (next.Schedule.Advance(_time.GetTimestamp()) is > 0 and var missed)
            {
                PollingInstruments.Overruns.Add(missed, _tag);
            }
        }
    }

    private async Task WaitUntilAsync(long due, CancellationToken cancellation)
    {
        cancellation.ThrowIfCancellationRequested();
        var wait = _time.GetElapsedTime(_time.GetTimestamp(), due);
        if (wait > TimeSpan.Zero)
        {
            await Task.Delay(wait, _time, cancellation);
        }
    }

    /// <summary>One failed frame a group for each outage, with its first cause.</summary>
    private async ValueTask FailAsync(List<GroupPoll> failed, string reason, long since)
    {
        failed.ForEach(g => g.CountFailure());
        var read = new TimeBounds(_anchor.Floor(since), _anchor.Ceiling(_time.GetTimestamp()));
        foreach (var group in failed.Where(g => !g.IsDown))
        {
            Lost(_logger, Washer, group.Name, reason);
            await WriteAsync(group.Fail(reason, read));
        }
    }

    private async ValueTask TellClockStepsAsync()
    {
        var current = _clock.Current();
        if (ReferenceEquals(current, _anchor))
        {
            return;
        }

        var shift = SteadyClock.Between(_anchor, current);
        _anchor = current;
        ClockStepped(_logger, Washer, shift.Shift);
        await WriteAsync(ClockFrame(shift, "the wall clock was set"));
    }

    private Frame ClockFrame(ClockShift shift, string reason)
    {
        var now = _time.GetTimestamp();
        return new Frame { Washer = Washer, Group = 0, Kind = FrameKind.Clock, Read = new TimeBounds(_anchor.Floor(now), _anchor.Ceiling(now)), Clock = shift, Reason = reason };
    }

    /// <summary>Not cancellable: what was read is handed over even while stopping. The intake always drains.</summary>
    private ValueTask WriteAsync(Frame frame) => _output.WriteAsync(frame, CancellationToken.None);

    [LoggerMessage(EventId = 1001, Level = LogLevel.Information, Message = "{Washer}: connected to {Host}:{Port}")]
    private static partial void Connected(ILogger logger, string washer, string host, int port);

    [LoggerMessage(EventId = 1002, Level = LogLevel.Warning, Message = "{Washer}: the group '{Group}' cannot be read: {Reason}")]
    private static partial void Lost(ILogger logger, string washer, string group, string reason);

    [LoggerMessage(EventId = 1003, Level = LogLevel.Warning, Message = "{Washer}: the wall clock was set by {Shift}")]
    private static partial void ClockStepped(ILogger logger, string washer, TimeSpan? shift);
}
