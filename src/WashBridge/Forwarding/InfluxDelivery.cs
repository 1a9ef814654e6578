using System.Diagnostics;
using Polly;
using Polly.Retry;
using Polly.Timeout;
using WashBridge.Telemetry;

namespace WashBridge.Forwarding;

/// <summary>
/// Gets lines accepted: tries again for as long as it takes, and takes a request that the server refuses for its lines apart until the
/// bad ones stand alone.
/// </summary>
internal sealed class InfluxDelivery
{
    private readonly string _follower;
    private readonly InfluxWriter _writer;
    private readonly InfluxFollowerOptions _options;
    private readonly TimeProvider _time;
    private readonly ILogger _logger;
    private readonly ResiliencePipeline _pipeline;
    private volatile InfluxCondition? _condition;

    public InfluxDelivery(string follower, InfluxWriter writer, InfluxFollowerOptions options, TimeProvider time, ILogger logger)
    {
        (_follower, _writer, _options, _time, _logger) = (follower, writer, options, time, logger);
        _pipeline = BuildPipeline();
    }

    /// <summary>What is wrong; null while all is well.</summary>
    public InfluxCondition? Condition => _condition;

    /// <summary>Returns when every line is with the server or in <paramref name="setAside"/>.</summary>
    /// <exception cref="OperationCanceledException">Stopped; how much the server took is unknown.</exception>
    /// <exception cref="InfluxWriteException">Only where the options say so: it will not pass by itself.</exception>
    public async Task DeliverAsync(LineBatch batch, int first, int count, List<SetAsideLine> setAside, CancellationToken stop)
    {
        try
        {
            var lines = batch.Lines(first, count);
            await _pipeline.ExecuteAsync(static async (s, token) => await s.Delivery.WriteAsync(s.Lines, s.Stop, token), (Delivery: this, Lines: lines, Stop: stop), stop);
            Recover();
        }
        catch (InfluxWriteException e) when (e.Failure == InfluxFailure.Lines)
        {
            Recover();
            if (count == 1)
            {
                setAside.Add(new SetAsideLine(batch.Origin(first), e.Message, batch.Text(first, 1)));
                return;
            }

            // What the server took of a partial write it takes again without harm.
            await DeliverAsync(batch, first, count / 2, setAside, stop);
            await DeliverAsync(batch, first + (count / 2), count - (count / 2), setAside, stop);
        }
    }

    /// <summary>Writes lines that were refused to the disk, as often as it takes.</summary>
    public async Task KeepAsync(SetAsideFile file, IReadOnlyList<SetAsideLine> lines, long cursor, CancellationToken stop)
    {
        var givenUp = await _pipeline.ExecuteAsync(_ => ValueTask.FromResult(Append(file, lines, cursor)), stop);
        Recover();
        if (givenUp > 0)
        {
            ForwardingLog.GivenUp(_logger, _follower, givenUp, file.Path);
        }

        foreach (var line in lines)
        {
            ForwardingLog.SetAside(_logger, _follower, line.Origin.Sequence, line.Origin.EventId, line.Reason);
        }
    }

    private async Task WriteAsync(ReadOnlyMemory<byte> lines, CancellationToken stop, CancellationToken cancellation)
    {
        var begun = Stopwatch.GetTimestamp();
        try
        {
            await _writer.WriteAsync(lines, cancellation);
            InfluxInstruments.Requested(_follower, begun, null);
        }
        catch (InfluxWriteException refused)
        {
            InfluxInstruments.Requested(_follower, begun, refused.Failure);
            throw;
        }
        catch (OperationCanceledException) when (!stop.IsCancellationRequested)
        {
            InfluxInstruments.Requested(_follower, begun, InfluxFailure.TimedOut);
            throw;
        }
    }

    private static int Append(SetAsideFile file, IReadOnlyList<SetAsideLine> lines, long cursor)
    {
        try
        {
            return file.Append(lines, cursor);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new InfluxWriteException(InfluxFailure.SetAside, e.Message, inner: e);
        }
    }

    /// <summary>The time limit is for one attempt, so it stands inside the retry.</summary>
    private ResiliencePipeline BuildPipeline()
    {
        var retry = new RetryStrategyOptions
        {
            ShouldHandle = args => ValueTask.FromResult(IsTriedAgain(args.Outcome.Exception)),
            BackoffType = DelayBackoffType.Exponential,
            UseJitter = true,
            Delay = _options.FirstDelay,
            MaxDelay = _options.LongestDelay,
            MaxRetryAttempts = int.MaxValue,
            DelayGenerator = args => ValueTask.FromResult((args.Outcome.Exception as InfluxWriteException)?.RetryAfter),
            OnRetry = args =>
            {
                Fail(args.Outcome.Exception!, args.RetryDelay);
                return default;
            },
        };
        if (_options.Jitter is { } jitter)
        {
            retry.Randomizer = jitter;
        }

        return new ResiliencePipelineBuilder { TimeProvider = _time }
            .AddRetry(retry)
            .AddTimeout(new TimeoutStrategyOptions { Timeout = _options.RequestTimeout })
            .Build();
    }

    private bool IsTriedAgain(Exception? cause) =>
        cause is TimeoutRejectedException || (cause is InfluxWriteException { Failure: not InfluxFailure.Lines } e && !(_options.GivesUp && e.Failure.NeedsAction()));

    private void Fail(Exception cause, TimeSpan delay)
    {
        var (failure, reason) = cause is InfluxWriteException e
            ? (e.Failure, e.Message)
            : (InfluxFailure.TimedOut, $"no answer within {_options.RequestTimeout.TotalSeconds} s");
        var before = _condition;
        var condition = new InfluxCondition(failure, reason, before?.Since ?? _time.GetUtcNow(), (before?.Attempts ?? 0) + 1);
        _condition = condition;
        if (before?.Failure == failure)
        {
            ForwardingLog.Retrying(_logger, _follower, failure, delay, reason);
        }
        else if (condition.NeedsAction)
        {
            ForwardingLog.NeedsAction(_logger, _follower, failure, delay, reason);
        }
        else
        {
            ForwardingLog.Failing(_logger, _follower, failure, delay, reason);
        }
    }

    private void Recover()
    {
        if (_condition is { } condition)
        {
            _condition = null;
            ForwardingLog.Recovered(_logger, _follower, _time.GetUtcNow() - condition.Since, condition.Attempts);
        }
    }
}
