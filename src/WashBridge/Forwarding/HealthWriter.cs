using WashBridge.Configuration;

namespace WashBridge.Forwarding;

/// <summary>
/// Tells one InfluxDB server every minute how the bridge stands, so that silence there means that something is wrong, be it that nobody washes. Beside
/// the follower of the log and not behind it: a backlog must not hide that there is one. What cannot be delivered is not kept.
/// </summary>
internal sealed class HealthWriter : IDisposable
{
    public static readonly TimeSpan Every = TimeSpan.FromMinutes(1);

    /// <summary>With one request.</summary>
    public static readonly TimeSpan Patience = TimeSpan.FromSeconds(20);

    private readonly string _name;
    private readonly Func<BridgeHealth> _look;
    private readonly TimeProvider _time;
    private readonly ILogger _logger;
    private readonly InfluxWriter _writer;
    private readonly HealthPoints _points;
    private readonly LineBatch _batch = new();
    private BridgeHealth? _told;
    private InfluxFailure? _failure;

    /// <param name="configuration">Where to.</param>
    /// <param name="site">The site's id, a tag on every point.</param>
    /// <param name="look">How the bridge stands now.</param>
    /// <param name="time">The clock.</param>
    /// <param name="logger">Event id 3110.</param>
    /// <param name="transport">What sends requests; null: sockets.</param>
    public HealthWriter(InfluxConfiguration configuration, string site, Func<BridgeHealth> look, TimeProvider time, ILogger<HealthWriter> logger, HttpMessageHandler? transport = null)
    {
        (_name, _look, _time, _logger) = ($"influx/{configuration.Id}", look, time, logger);
        _writer = new InfluxWriter(configuration, time, transport);
        _points = new HealthPoints(site);
    }

    /// <summary>Runs until <paramref name="stop"/>. No failure of the server ends it.</summary>
    public async Task RunAsync(CancellationToken stop)
    {
        try
        {
            while (true)
            {
                await TellAsync(stop);
                await Task.Delay(Every, _time, stop);
            }
        }
        catch (OperationCanceledException) when (stop.IsCancellationRequested)
        {
            // As asked.
        }
    }

    public void Dispose() => _writer.Dispose();

    private async Task TellAsync(CancellationToken stop)
    {
        var health = _look();
        _batch.Clear(0);
        _points.Append(health, _told, _batch);
        using var patience = new CancellationTokenSource(Patience, _time);
        using var either = CancellationTokenSource.CreateLinkedTokenSource(stop, patience.Token);
        try
        {
            await _writer.WriteAsync(_batch.Lines(0, _batch.Count), either.Token);
            (_told, _failure) = (health, null);
        }
        catch (OperationCanceledException) when (!stop.IsCancellationRequested)
        {
            Fail(InfluxFailure.TimedOut, $"no answer within {Patience.TotalSeconds} s");
        }
        catch (InfluxWriteException e)
        {
            Fail(e.Failure, e.Message);
        }
    }

    /// <summary>Once an outage; the follower of the log tells the rest.</summary>
    private void Fail(InfluxFailure failure, string reason)
    {
        if (_failure != failure)
        {
            ForwardingLog.HealthNotTold(_logger, _name, failure, reason);
        }

        _failure = failure;
    }
}
